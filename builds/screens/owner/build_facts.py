"""The van, the customer and the promise of one build; what goes into it; its record."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions import builds as actions
from builds.actions.composing import InstallationChoice, add_to_build, take_out
from builds.actions.door import Refused
from builds.models import Build, Installation, InstallationKind, Unit, UnitKind

from .build_frame import build_or_404, ways_of_build
from .forms_build import VAN_FIELDS, BuildFactsForm, CustomerForm, PromiseForm, UnitRow, VanFields, refuse_in


def facts(request: HttpRequest, build: int) -> HttpResponse:
    """Shows the van's facts; a POST keeps them."""
    found = build_or_404(build)
    if request.method != "POST":
        return _show_facts(request, found)
    form, van = BuildFactsForm(request.POST, instance=found), VanFields(request.POST, instance=found)
    if form.is_valid() and van.is_valid():
        changes = {**form.cleaned_data, **van.cleaned_data}
        version = changes.pop("version")
        try:
            actions.change_build(
                build=found, changes=changes, version=version, now=timezone.now(), by=request.user
            )
        except Refused as error:
            refuse_in(van if error.field in VAN_FIELDS else form, error)
            return _show_facts(request, build_or_404(build), form=form, van=van, status=error.status)
        messages.success(request, "Kept.")
        return redirect("owner:build-facts", found.pk)
    return _show_facts(request, build_or_404(build), form=form, van=van, status=422)


@require_POST
def customer(request: HttpRequest, build: int) -> HttpResponse:
    found = build_or_404(build)
    form = CustomerForm(request.POST, prefix="customer")
    if form.is_valid():
        try:
            actions.change_customer(
                build=found, changes=form.cleaned_data, now=timezone.now(), by=request.user
            )
        except Refused as error:
            refuse_in(form, error)
        else:
            messages.success(request, "Kept.")
            return redirect("owner:build-facts", found.pk)
    return _show_facts(request, found, customer=form, status=422)


@require_POST
def promise(request: HttpRequest, build: int) -> HttpResponse:
    found = build_or_404(build)
    form = PromiseForm(request.POST, prefix="promise")
    if form.is_valid():
        try:
            actions.tell_promise(build=found, **form.cleaned_data, now=timezone.now(), by=request.user)
        except Refused as error:
            refuse_in(form, error)
        else:
            messages.success(request, "Promised, and on record.")
            return redirect("owner:build-facts", found.pk)
    return _show_facts(request, found, promise=form, status=422)


def _show_facts(request, found: Build, *, form=None, van=None, customer=None, promise=None, status=200):
    person = found.customer
    context = {
        "build": found,
        "ways": ways_of_build(found, "owner:build-facts"),
        "form": form or BuildFactsForm(instance=found, initial={"version": found.version}),
        "van": van or VanFields(instance=found),
        "customer": customer
        or CustomerForm(
            prefix="customer",
            initial={n: getattr(person, n) for n in ("name", "email", "phone", "address")},
        ),
        "promise": promise
        or PromiseForm(
            prefix="promise", initial={"promised_on": found.promised_on, "version": found.version}
        ),
        "promises": found.promises_told.select_related("by"),
    }
    return render(request, "owner/builds/facts.html", context, status=status)


class InstallationForm(forms.Form):
    """An installation to add, with how many of it there are."""

    kind = forms.ModelChoiceField(
        label="Installation",
        queryset=InstallationKind.objects.filter(withdrawn=False),
        to_field_name="key",
        empty_label=None,
    )
    count = forms.IntegerField(label="How many", min_value=1, max_value=50, initial=1)


@require_safe
def fitted(request: HttpRequest, build: int) -> HttpResponse:
    return _show_fitted(request, build_or_404(build))


@require_POST
def unit_add(request: HttpRequest, build: int) -> HttpResponse:
    found = build_or_404(build)
    rows = [UnitRow(request.POST, prefix=prefix) for prefix in request.POST.getlist("unit")[:40]]
    error = "" if rows else "Choose a unit to add first."
    if rows and all(row.is_valid() for row in rows):
        try:
            add_to_build(build=found, units=[row.choice for row in rows], now=timezone.now(), by=request.user)
        except Refused as refused:
            error = refused.words
        else:
            messages.success(request, "Added, with its work.")
            return redirect("owner:build-fitted", found.pk)
    return _show_fitted(request, found, rows=rows, unit_error=error, status=422)


@require_POST
def installation_add(request: HttpRequest, build: int) -> HttpResponse:
    found = build_or_404(build)
    form = InstallationForm(request.POST)
    if form.is_valid():
        choice = InstallationChoice(form.cleaned_data["kind"].key, form.cleaned_data["count"])
        try:
            add_to_build(build=found, installations=[choice], now=timezone.now(), by=request.user)
        except Refused as error:
            form.add_error(None, error.words)
        else:
            messages.success(request, "Added, with its work.")
            return redirect("owner:build-fitted", found.pk)
    return _show_fitted(request, found, form=form, status=422)


@require_POST
def unit_out(request: HttpRequest, build: int, unit: int) -> HttpResponse:
    return _out(request, get_object_or_404(Unit.objects.select_related("build"), pk=unit, build=build))


@require_POST
def installation_out(request: HttpRequest, build: int, installation: int) -> HttpResponse:
    rows = Installation.objects.select_related("build")
    return _out(request, get_object_or_404(rows, pk=installation, build=build))


def _out(request: HttpRequest, owner: Unit | Installation) -> HttpResponse:
    try:
        gone = take_out(owner=owner, now=timezone.now(), by=request.user)
    except Refused as error:
        messages.error(request, error.words)
    else:
        messages.success(request, f"Took {owner.name} out with {gone} tasks; the rest closes up.")
    return redirect("owner:build-fitted", owner.build_id)


def _show_fitted(request, found: Build, *, rows=(), unit_error="", form=None, status=200):
    context = {
        "build": found,
        "ways": ways_of_build(found, "owner:build-fitted"),
        "units": found.units.all(),
        "installations": found.installations.all(),
        "kinds": UnitKind.objects.filter(withdrawn=False),
        "rows": rows,
        "unit_error": unit_error,
        "form": form or InstallationForm(),
    }
    return render(request, "owner/builds/fitted.html", context, status=status)
