"""What a scanned label opens: the unit's work and parts, and the way to one's own job sheet."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from builds.queries.unit_job import unit_job


@require_safe
def unit_page(request: HttpRequest, unit: int) -> HttpResponse:
    found = unit_job(unit)
    if found is None:
        raise Http404
    return render(request, "floor/unit/page.html", {"unit": found})
