"""What the floor does not agree on: the owner settles it, one line at a time."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions.door import Refused
from builds.actions.settling import settle
from builds.models import FloorEvent
from builds.queries.settling import disagreements


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    return render(request, "owner/settling/page.html", {"found": disagreements()})


@require_POST
def word(request: HttpRequest, event: int) -> HttpResponse:
    """Takes the owner's word on one line."""
    found = get_object_or_404(FloorEvent, pk=event)
    try:
        answer = settle(event=found, keep=request.POST.get("keep", ""), user=request.user, now=timezone.now())
    except Refused as error:
        messages.error(request, error.words)
    else:
        messages.success(request, f"Settled: {answer.words}.")
    return redirect("owner:settle-list")
