"""Lengths of a build: runs the owner lists, and the list of cuts."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions import runs as actions
from builds.actions.door import Gone, Refused
from builds.models import Build, Run
from builds.queries.cut_lengths import length_plans

from .build_frame import build_or_404, ways_of_build
from .forms_build import refuse_in
from .forms_cutting import RunForm


@require_safe
def page(request: HttpRequest, build: int) -> HttpResponse:
    return _show(request, build_or_404(build))


@require_POST
def run_add(request: HttpRequest, build: int) -> HttpResponse:
    found = build_or_404(build)
    form = RunForm(request.POST)
    if form.is_valid():
        try:
            run = actions.add_run(build=found, **form.cleaned_data, now=timezone.now(), by=request.user)
        except Gone:
            raise
        except Refused as error:
            refuse_in(form, error)
        else:
            messages.success(request, f"{run.name} is on the list.")
            return redirect("owner:build-lengths", found.pk)
    return _show(request, found, form=form, status=422)


@require_POST
def run_remove(request: HttpRequest, build: int, run: int) -> HttpResponse:
    row = get_object_or_404(Run, pk=run, build=build)
    version = request.POST.get("version", "")
    known = int(version) if version.isdecimal() and len(version) < 9 else None
    actions.remove_run(run=row, version=known, now=timezone.now(), by=request.user)
    messages.success(request, "Taken off the list.")
    return redirect("owner:build-lengths", build)


def _show(request: HttpRequest, found: Build, *, form: RunForm | None = None, status: int = 200):
    context = {
        "build": found,
        "ways": ways_of_build(found, "owner:build-cutting"),
        "plans": length_plans(found, request.shop),
        "form": form or RunForm(initial={"token": uuid.uuid4(), "count": 1}),
    }
    return render(request, "owner/cutting/lengths.html", context, status=status)
