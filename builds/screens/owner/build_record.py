"""The record of one build: photos by place, serial numbers and papers, what happened."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions import filing
from builds.actions.door import Refused
from builds.actions.floor import By
from builds.actions.photos import place_photo
from builds.models import Build, FiledPaper, Installation, Photo
from builds.models.evidence import PLACES_IN_VAN
from builds.queries.build_record import build_record
from builds.screens.files import paper_response

from .build_frame import build_or_404, ways_of_build


@require_safe
def page(request: HttpRequest, build: int) -> HttpResponse:
    return _show(request, build)


@require_POST
def file_paper(request: HttpRequest, build: int) -> HttpResponse:
    """Files a serial number, a photo of a plate or a PDF."""
    found = get_object_or_404(Build, pk=build)
    said = request.POST
    owner = None
    if said.get("of"):
        number = said["of"] if said["of"].isdecimal() and len(said["of"]) < 10 else "0"
        owner = get_object_or_404(Installation, pk=number, build=found)
    try:
        filing.file_paper(
            build=found,
            installation=owner,
            file=request.FILES.get("paper"),
            title=said.get("title", ""),
            serial_number=said.get("serial_number", ""),
            by=By(user=request.user, uuid=_once(said.get("once", ""))),
            now=timezone.now(),
        )
    except Refused as error:
        return _show(request, build, error=error)
    messages.success(request, "Filed.")
    return redirect("owner:build-record", build)


@require_POST
def withdraw_paper(request: HttpRequest, build: int, paper: int) -> HttpResponse:
    found = get_object_or_404(FiledPaper, pk=paper, build=build)
    filing.withdraw_paper(paper=found, user=request.user, now=timezone.now())
    messages.success(request, f"“{found.title}” is off the list; it stays on record.")
    return redirect("owner:build-record", build)


@require_POST
def place(request: HttpRequest, build: int, uuid) -> HttpResponse:
    """Says where in the van a photo was taken."""
    found = get_object_or_404(Photo, uuid=uuid, build=build)
    try:
        place_photo(photo=found, behind=request.POST.get("behind", ""), now=timezone.now(), by=request.user)
    except Refused as error:
        messages.error(request, error.words)
    else:
        messages.success(request, "The photo stands at its place.")
    return redirect("owner:build-record", build)


@require_safe
def paper(request: HttpRequest, uuid) -> HttpResponse:
    return paper_response(get_object_or_404(FiledPaper.objects.exclude(file=""), uuid=uuid))


def _once(word: str) -> uuid.UUID | None:
    try:
        return uuid.UUID(word)
    except ValueError:
        return None


def _show(request: HttpRequest, build: int, *, error: Refused | None = None) -> HttpResponse:
    found = build_or_404(build)
    context = {
        "build": found,
        "ways": ways_of_build(found, "owner:build-record"),
        "record": build_record(found),
        "paper_error": error,
        "typed": request.POST if error else {},
        "once": uuid.uuid4(),
        "places_in_van": PLACES_IN_VAN,
    }
    return render(request, "owner/builds/record.html", context, status=error.status if error else 200)
