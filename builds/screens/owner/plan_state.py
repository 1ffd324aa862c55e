"""Whether the plan is current: the small mark in every owner page's head, asked for again and again."""

from __future__ import annotations

import json

from django.http import HttpRequest, HttpResponse, HttpResponseNotModified
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from builds.actions.planning import ask_if_old


@require_safe
def fragment(request: HttpRequest) -> HttpResponse:
    """Answers 304 while nothing changed; else the mark, and tells the page when there is a new plan."""
    ask_if_old(now=timezone.now())
    shop = request.shop
    tag = f'"{shop.plan_tag}"'
    if request.headers.get("If-None-Match", "").strip('"') == shop.plan_tag:
        return HttpResponseNotModified()
    context = {"plan_is_stale": shop.plan_is_stale, "plan_tag": shop.plan_tag}
    response = render(request, "components/_plan_state.html", context)
    response["ETag"] = tag
    if not shop.plan_is_stale:
        response["HX-Trigger"] = json.dumps({"plan-changed": {}})
    return response
