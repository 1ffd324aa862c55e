"""Snags of a build: the owner strikes off what is put right."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from builds.actions import floor
from builds.actions.door import Refused
from builds.models import Snag


@require_POST
def put_right(request: HttpRequest, build: int, snag: int) -> HttpResponse:
    found = get_object_or_404(Snag, pk=snag, build=build)
    try:
        answer = floor.put_right(snag=found, by=floor.By(user=request.user), now=timezone.now())
    except Refused as error:
        messages.error(request, error.words)
    else:
        messages.success(request, f"{answer.words}: {found.text}")
    return redirect("owner:build-page", build)
