"""Material: what all builds need and by when to order it; one build's needs; the totals as a paper."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions import needs as actions
from builds.actions.door import Gone, Refused
from builds.models import Build, Need
from builds.queries.material_totals import material_totals
from builds.queries.threads import threads_that_differ
from builds.reports.material_totals import material_totals_paper

from .build_frame import build_or_404, ways_of_build
from .forms_build import refuse_in
from .forms_needs import ChangeForm, NeedForm
from .material_ways import ways_of_material

WAYS = ("day", "supplier", "all")


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    """Over all builds that are planned: what to order by when, or by supplier, or all that is needed."""
    by = request.GET.get("by")
    by = by if by in WAYS else "day"
    builds = list(Build.objects.to_plan())
    totals = material_totals(builds, timezone.now(), shop=request.shop, with_stock=True)
    context = {
        "totals": totals,
        "builds": builds,
        "by": by,
        "ways": ways_of_material("owner:material", f"?by={by}"),
        "sections": [(supplier, uuid.uuid4()) for supplier in totals.suppliers if supplier.to_order],
        "customers": [(pk, name, uuid.uuid4()) for pk, name in totals.customers_to_ask],
    }
    return render(request, "owner/material/page.html", context)


@require_safe
def paper(request: HttpRequest) -> HttpResponse:
    """The totals of the chosen builds (all planned ones unless chosen) as a PDF."""
    chosen = [int(pk) for pk in request.GET.getlist("build") if pk.isdecimal() and len(pk) < 9]
    builds = Build.objects.filter(pk__in=chosen) if chosen else Build.objects.to_plan()
    _, pdf = material_totals_paper(list(builds), timezone.now(), shop=request.shop)
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = 'inline; filename="material-totals.pdf"'
    return response


@require_safe
def of_build(request: HttpRequest, build: int) -> HttpResponse:
    return _show(request, build_or_404(build))


@require_POST
def need_add(request: HttpRequest, build: int) -> HttpResponse:
    found = build_or_404(build)
    form = NeedForm(request.POST, build=found)
    if form.is_valid():
        try:
            need = actions.add_need(build=found, **form.cleaned_data, now=timezone.now(), by=request.user)
        except Refused as error:
            refuse_in(form, error)
        else:
            messages.success(request, f"{need.material.name} is on the list.")
            return redirect("owner:build-material", found.pk)
    return _show(request, found, form=form, status=422)


def need(request: HttpRequest, build: int, need: int) -> HttpResponse:
    """One need: its quantity, first use and who brings it; a POST keeps them."""
    found = build_or_404(build)
    rows = Need.objects.select_related("material", "unit", "installation", "task")
    row = get_object_or_404(rows, pk=need, build=found)
    if request.method != "POST":
        return _show_need(request, found, row, ChangeForm.of(row))
    form = ChangeForm(request.POST, build=found)
    if form.is_valid():
        try:
            actions.change_need(need=row, **form.cleaned_data, now=timezone.now(), by=request.user)
        except Gone:
            raise
        except Refused as error:
            refuse_in(form, error)
        else:
            messages.success(request, "Kept.")
            return redirect("owner:build-material", found.pk)
    return _show_need(request, found, row, form, status=422)


@require_POST
def need_remove(request: HttpRequest, build: int, need: int) -> HttpResponse:
    row = get_object_or_404(Need, pk=need, build=build)
    try:
        actions.remove_need(need=row, now=timezone.now(), by=request.user)
    except Gone:
        raise
    except Refused as error:
        messages.error(request, error.words)
    else:
        messages.success(request, "Removed.")
    return redirect("owner:build-material", build)


@require_POST
def reckon(request: HttpRequest, build: int) -> HttpResponse:
    """Reckons anew, after the shop changed its rules or materials."""
    found = get_object_or_404(Build, pk=build)
    actions.reckon_needs(build=found, now=timezone.now(), by=request.user)
    messages.success(request, "Reckoned anew from what goes in.")
    return redirect("owner:build-material", found.pk)


def _show(request: HttpRequest, found: Build, *, form: NeedForm | None = None, status: int = 200):
    form = form or NeedForm(build=found, initial={"token": uuid.uuid4()})
    form.fields["material"].choices = list(iter(form.fields["material"].choices))  # else asked for twice
    totals = material_totals([found], timezone.now(), shop=request.shop)
    needs = (need for row in (*totals.lines, *totals.by_customer) for need in row.needs)
    context = {
        "build": found,
        "ways": ways_of_build(found, "owner:build-material"),
        "totals": totals,
        "threads": threads_that_differ(needs),
        "form": form,
    }
    return render(request, "owner/material/build.html", context, status=status)


def _show_need(request: HttpRequest, found: Build, row: Need, form: ChangeForm, *, status: int = 200):
    owner = row.unit or row.installation
    context = {
        "build": found,
        "need": row,
        "for_what": owner.name if owner else "Whole van",
        "form": form,
        "ways": ways_of_build(found, "owner:build-material"),
        "is_changed": row.is_typed and row.rule != actions.TYPED_IN,
    }
    return render(request, "owner/material/need.html", context, status=status)
