"""How sure a build's date is: asked for again while the runs are being worked out."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, HttpResponseNotModified
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from builds.models import Build, PlanState
from builds.queries.chances import chances_of
from builds.queries.chances_drawing import draw_chances
from builds.queries.opening import opening_times


@require_safe
def fragment(request: HttpRequest, build: int) -> HttpResponse:
    """The part of the build's page, or 304 while there is nothing new."""
    found = get_object_or_404(Build, pk=build)
    state = PlanState.objects.filter(pk=1).first()
    chances = chances_of(found, state, request.shop, opening_times(request.shop))
    tag = f'"{chances.state}"'
    if request.headers.get("If-None-Match") == tag:
        return HttpResponseNotModified()
    context = {"build": found, "chances": chances, "drawing": draw_chances(chances)}
    response = render(request, "owner/builds/_chances.html", context)
    response["ETag"] = tag
    return response
