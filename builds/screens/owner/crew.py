"""The crew sheet: people down, half days across."""

from __future__ import annotations

from datetime import date

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from builds.queries.crew_drawing import DAY_PX, crew_drawing
from builds.queries.crew_sheet import crew_sheet


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    """The whole page, or the sheet alone where htmx asks for it anew."""
    weeks = 1 if request.GET.get("weeks") == "1" else 2
    sheet = crew_sheet(timezone.now(), first=_day(request.GET.get("from")), weeks=weeks, shop=request.shop)
    template = "owner/crew/_crew.html" if request.htmx else "owner/crew/page.html"
    return render(request, template, {"sheet": sheet})


@require_safe
def drawing(request: HttpRequest) -> HttpResponse:
    """Many weeks drawn, by people or by vans."""
    asked = request.GET.get("weeks", "")
    drawn = crew_drawing(
        timezone.now(),
        shop=request.shop,
        first=_day(request.GET.get("from")),
        weeks=next((w for w in DAY_PX if str(w) == asked), 12),
        by="vans" if request.GET.get("by") == "vans" else "people",
    )
    template = "owner/crew/_drawing.html" if request.htmx else "owner/crew/drawing.html"
    return render(request, template, {"drawn": drawn, "widths": tuple(DAY_PX)})


def _day(text: str | None) -> date | None:
    try:
        day = date.fromisoformat(text or "")
    except ValueError:
        return None
    return day if 2000 <= day.year <= 2200 else None
