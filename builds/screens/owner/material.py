"""Material: what all builds need and by when to order it; one build's needs; the totals as a paper."""

from __future__ import annotations

import uuid

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions import needs as actions
from builds.actions.door import Refused
from builds.models import Build, Material, Need, Task
from builds.queries.material_totals import material_totals
from builds.reports.material_totals import material_totals_paper

from .build_frame import build_or_404, ways_of_build
from .forms_build import refuse_in


class NeedForm(forms.Form):
    """A need typed in by hand."""

    material = forms.ModelChoiceField(
        label="Material", queryset=Material.objects.filter(withdrawn=False), empty_label=None
    )
    quantity = forms.CharField(label="How much", max_length=20, help_text="A number, or 2400 mm, 1.5 l.")
    task = forms.ModelChoiceField(label="First used in", queryset=Task.objects.none(), required=False)
    customer_supplies = forms.BooleanField(label="The customer brings it", required=False)
    token = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def __init__(self, *given, build: Build, **more) -> None:
        super().__init__(*given, **more)
        tasks = Task.objects.unfinished().filter(build=build).select_related("unit", "installation")
        self.fields["task"].queryset = tasks
        self.fields["task"].label_from_instance = lambda task: f"{task.group_name}: {task.name}"


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    """Over all builds that are planned: by supplier, what to order by when, late first."""
    builds = list(Build.objects.to_plan())
    totals = material_totals(builds, timezone.now(), shop=request.shop)
    return render(request, "owner/material/page.html", {"totals": totals, "builds": builds})


@require_safe
def paper(request: HttpRequest) -> HttpResponse:
    """The totals of the chosen builds (all planned ones unless chosen) as a PDF."""
    chosen = [int(pk) for pk in request.GET.getlist("build") if pk.isdecimal() and len(pk) < 9]
    builds = Build.objects.to_plan()
    if chosen:
        builds = Build.objects.filter(pk__in=chosen)
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
            actions.add_need(build=found, **form.cleaned_data, now=timezone.now(), by=request.user)
        except Refused as error:
            refuse_in(form, error)
        else:
            messages.success(request, "Added.")
            return redirect("owner:build-material", found.pk)
    return _show(request, found, form=form, status=422)


@require_POST
def need_remove(request: HttpRequest, build: int, need: int) -> HttpResponse:
    row = get_object_or_404(Need, pk=need, build=build)
    try:
        actions.remove_need(need=row, now=timezone.now(), by=request.user)
    except Refused as error:
        messages.error(request, error.words)
    return redirect("owner:build-material", build)


@require_POST
def need_bring(request: HttpRequest, build: int, need: int) -> HttpResponse:
    """Says that the customer brings it, or that the shop buys it after all."""
    row = get_object_or_404(Need, pk=need, build=build)
    actions.set_customer_supplies(
        need=row, yes=request.POST.get("brings") == "yes", now=timezone.now(), by=request.user
    )
    return redirect("owner:build-material", build)


@require_POST
def reckon(request: HttpRequest, build: int) -> HttpResponse:
    """Reckons anew, after the shop changed its rules or materials."""
    found = get_object_or_404(Build, pk=build)
    actions.reckon_needs(build=found, now=timezone.now(), by=request.user)
    messages.success(request, "Reckoned anew from what goes in.")
    return redirect("owner:build-material", found.pk)


def _show(request: HttpRequest, found: Build, *, form: NeedForm | None = None, status: int = 200):
    context = {
        "build": found,
        "ways": ways_of_build(found, "owner:build-material"),
        "totals": material_totals([found], timezone.now(), shop=request.shop),
        "form": form or NeedForm(build=found, initial={"token": uuid.uuid4()}),
    }
    return render(request, "owner/material/build.html", context, status=status)
