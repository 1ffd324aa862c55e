"""One unit of a build: how it is made, drawn at once as it is changed, with its parts and its mass."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_POST, require_safe

from builds.actions.door import Refused
from builds.actions.making import try_making
from builds.actions.parts import change_making
from builds.models import Unit
from builds.queries.joinery import Boards
from builds.queries.unit_page import unit_page, unit_trial
from builds.reports.unit_paper import unit_paper

from .build_frame import ways_of_build
from .forms_units import UnitForm


def page(request: HttpRequest, build: int, unit: int) -> HttpResponse:
    """Shows a unit; a POST keeps other sizes and choices and works its parts out anew."""
    found = unit_or_404(build, unit)
    if request.method != "POST":
        return show(request, found)
    form = UnitForm(request.POST, boards=Boards.read())
    if not form.is_valid():
        return show(request, found, form=form, status=422)
    try:
        change_making(
            unit=found,
            sizes=form.sizes,
            choices=form.choices,
            version=form.cleaned_data["version"],
            now=timezone.now(),
            by=request.user,
        )
    except Refused as error:
        form.refuse(error)
        return show(request, unit_or_404(build, unit), form=form, status=error.status)
    messages.success(request, "Kept, and its parts worked out anew.")
    return redirect("owner:unit-page", build, unit)


@require_POST
def preview(request: HttpRequest, build: int, unit: int) -> HttpResponse:
    """What the sizes and choices typed so far would come to, or why they can't be. Keeps nothing."""
    found = unit_or_404(build, unit)
    form = UnitForm(request.POST, boards=Boards.read())
    trial = None
    if form.is_valid():
        try:
            tried = try_making(unit=found, sizes=form.sizes, choices=form.choices)
            trial = unit_trial(found, tried.derived, tried.boards)
        except Refused as error:
            form.refuse(error)
    context = {"build": found.build, "unit": found, "form": form, "trial": trial}
    return render(request, "owner/units/_trial.html", context, status=200 if trial else 422)


@require_safe
def paper(request: HttpRequest, build: int, unit: int) -> HttpResponse:
    """Drawing and parts for the bench; its code opens the unit's job on a tablet."""
    found = unit_or_404(build, unit)
    link = request.build_absolute_uri(reverse("floor:unit", args=[found.pk]))
    _, pdf = unit_paper(found, link, timezone.now(), shop=request.shop)
    response = HttpResponse(pdf, content_type="application/pdf")
    name = slugify(f"{found.build.name} {found.name}") or "unit"
    response["Content-Disposition"] = f'inline; filename="unit-{name}.pdf"'
    return response


def show(
    request: HttpRequest, found: Unit, *, form: UnitForm | None = None, status: int = 200
) -> HttpResponse:
    about = unit_page(found)
    if form is None and about.making is not None:
        form = UnitForm.of(found, about.making, about.boards)
    context = {
        "build": found.build,
        "unit": found,
        "ways": ways_of_build(found.build, "owner:build-fitted"),
        "about": about,
        "form": form,
    }
    return render(request, "owner/units/page.html", context, status=status)


def unit_or_404(build: int, unit: int) -> Unit:
    """The unit with its build, customer and making; one that was taken out is not there."""
    rows = Unit.objects.select_related("build__customer", "making")
    return get_object_or_404(rows, pk=unit, build=build)
