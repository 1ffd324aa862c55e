"""What would bring a build sooner: asked for again while it is being tried."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, HttpResponseNotModified
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from builds.models import Build, PlanState
from builds.queries.remedies import WhatHelps, what_helps
from builds.queries.remedy_words import RemedyLine


def lines_of(helps: WhatHelps) -> list[tuple[RemedyLine, str]]:
    """Each remedy with the address where the owner does it."""
    return [(line, reverse(f"owner:{line.url}", args=line.args) + line.query) for line in helps.lines]


@require_safe
def fragment(request: HttpRequest, build: int) -> HttpResponse:
    """The part of the build's page, or 304 while there is nothing new."""
    found = get_object_or_404(Build, pk=build)
    helps = what_helps(found, PlanState.objects.filter(pk=1).first(), request.shop)
    tag = f'"{helps.state}"'
    if request.headers.get("If-None-Match") == tag:
        return HttpResponseNotModified()
    context = {"build": found, "helps": helps, "helps_lines": lines_of(helps)}
    response = render(request, "owner/builds/_helps.html", context)
    response["ETag"] = tag
    return response
