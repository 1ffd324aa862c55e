"""Notes, photos, snags and serial numbers from the job sheet."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions import filing, floor
from builds.actions.door import Refused
from builds.models import Photo
from builds.screens.files import photo_response

from .sheet import answered
from .work import task_of


@require_POST
def note(request: HttpRequest, person: int, task: int) -> HttpResponse:
    found, text = task_of(request, task), request.POST.get("text", "")
    return answered(
        request,
        person,
        f"note {task}",
        lambda by: floor.add_note(build=found.build, task=found, text=text, by=by, now=timezone.now()),
    )


@require_POST
def snag(request: HttpRequest, person: int, task: int) -> HttpResponse:
    found, text = task_of(request, task), request.POST.get("text", "")
    return answered(
        request,
        person,
        f"snag {task}",
        lambda by: floor.add_snag(build=found.build, task=found, text=text, by=by, now=timezone.now()),
    )


@require_POST
def photo(request: HttpRequest, person: int, task: int) -> HttpResponse:
    found = task_of(request, task)

    def keep(by):
        file = file_of(request)
        place = place_of(request)
        return floor.add_photo(
            file=file, build=found.build, task=found, behind=place, by=by, now=timezone.now()
        )

    return answered(request, person, f"photo {task}", keep)


@require_POST
def paper(request: HttpRequest, person: int, task: int) -> HttpResponse:
    """Files a serial number or a paper against the installation that the task works on."""
    found = task_of(request, task)

    def file(by):
        if found.installation is None:
            raise Refused("This work fits nothing that has a serial number.", field="serial_number")
        return filing.file_paper(
            build=found.build,
            installation=found.installation,
            task=found,
            file=request.FILES.get("paper"),
            title=request.POST.get("title", ""),
            serial_number=request.POST.get("serial_number", ""),
            by=by,
            now=timezone.now(),
        )

    return answered(request, person, f"task-paper {task}", file)


@require_safe
def photo_file(request: HttpRequest, uuid, size: str) -> HttpResponse:
    found = get_object_or_404(Photo, uuid=uuid, build__status="agreed")
    return photo_response(found, small=size == "small")


def place_of(request: HttpRequest) -> str:
    """Where in the van: what was typed goes before what was chosen."""
    return request.POST.get("behind_typed", "").strip() or request.POST.get("behind", "")


def file_of(request: HttpRequest):
    file = request.FILES.get("photo")
    if file is None:
        raise Refused("Take a photo or choose one first.", field="photo")
    return file
