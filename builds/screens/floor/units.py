"""What a scanned label opens, the unit's work and parts; and one sheet to scale at the saw."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from builds.engines.cutting.measures import millimetres
from builds.models import Caution, CutSheet, Person
from builds.queries.cutting import plan_sheet
from builds.queries.unit_job import unit_job


@require_safe
def unit_page(request: HttpRequest, unit: int) -> HttpResponse:
    found = unit_job(unit)
    if found is None:
        raise Http404
    return render(request, "floor/unit/page.html", {"unit": found})


@require_safe
def sheet_page(request: HttpRequest, person: int, cut_sheet: int) -> HttpResponse:
    """One sheet to scale, its pieces and the order of its cuts."""
    reader = get_object_or_404(Person.objects.working(), pk=person)
    rows = CutSheet.objects.select_related("plan__material", "cut_by")
    found = get_object_or_404(rows, pk=cut_sheet)
    context = {
        "reader": reader,
        "person": reader.name,
        "material": found.plan.material,
        "sheet": plan_sheet(found, found.plan),
        "kerf_mm": millimetres(found.plan.kerf_tenths),
        "caution": Caution.objects.filter(key="machines").values_list("text", flat=True).first(),
    }
    return render(request, "floor/unit/sheet.html", context)
