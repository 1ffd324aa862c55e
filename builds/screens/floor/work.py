"""What a fitter does to a task from the job sheet: one press, one action."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_POST

from builds.actions import floor, sheets_cut
from builds.models import FloorEvent, Link, Task

from .queued import in_work, waited_on_the_tablet
from .sheet import answered


def task_of(request: HttpRequest, pk: int) -> Task:
    """A task of a van that is in work; one taken out is found, so that the action can say so.

    What waited on a tablet is heard whatever became of the van meanwhile: the action keeps it or refuses it.
    """
    rows = Task.objects.select_related("build")
    return get_object_or_404(rows, pk=pk, **in_work(request, "build__status"))


@require_POST
def start(request: HttpRequest, person: int, task: int) -> HttpResponse:
    found, said = task_of(request, task), request.POST
    return answered(
        request,
        person,
        f"start {task}",
        lambda by: floor.start_task(
            task=found,
            by=by,
            now=timezone.now(),
            found_anyway=said.get("found_anyway") == "yes",
            competent_person=said.get("competent_person", ""),
            without_photos=said.get("without_photos") == "yes",
        ),
    )


@require_POST
def tick(request: HttpRequest, person: int, task: int) -> HttpResponse:
    found, said = task_of(request, task), request.POST
    return answered(
        request,
        person,
        f"tick {task}",
        lambda by: floor.tick_task(
            task=found,
            hours=said.get("hours", ""),
            by=by,
            now=timezone.now(),
            competent_person=said.get("competent_person", ""),
            without_photos=said.get("without_photos") == "yes",
        ),
    )


@require_POST
def half_day(request: HttpRequest, person: int, task: int) -> HttpResponse:
    found, said = task_of(request, task), request.POST
    return answered(
        request,
        person,
        f"half-day {task}",
        lambda by: floor.half_a_day_left(
            task=found,
            hours_left=_pressed_or_typed(request, "hours_left"),
            by=by,
            now=timezone.now(),
            competent_person=said.get("competent_person", ""),
            without_photos=said.get("without_photos") == "yes",
        ),
    )


@require_POST
def sheet_cut(request: HttpRequest, person: int, task: int, cut_sheet: int) -> HttpResponse:
    """A whole sheet is cut; the sheet's number in the address may be one that was laid out anew."""
    found, said = task_of(request, task), request.POST
    return answered(
        request,
        person,
        f"sheet-cut {task}",
        lambda by: sheets_cut.cut_sheet(
            task=found, sheet=cut_sheet, hours=said.get("hours", ""), by=by, now=timezone.now()
        ),
    )


@require_POST
def stop(request: HttpRequest, person: int, task: int) -> HttpResponse:
    found = task_of(request, task)
    return answered(
        request,
        person,
        f"stop {task}",
        lambda by: floor.stop_task(
            task=found, reason=_pressed_or_typed(request, "reason"), by=by, now=timezone.now()
        ),
    )


@require_POST
def go_on(request: HttpRequest, person: int, task: int) -> HttpResponse:
    found, said = task_of(request, task), request.POST
    return answered(
        request,
        person,
        f"start {task}",
        lambda by: floor.go_on(
            task=found,
            by=by,
            now=timezone.now(),
            competent_person=said.get("competent_person", ""),
            without_photos=said.get("without_photos") == "yes",
        ),
    )


@require_POST
def dry(request: HttpRequest, person: int, link: int) -> HttpResponse:
    return answered(
        request,
        person,
        f"wait {link}",
        lambda by: floor.say_dry(link=_link_of(request, link), by=by, now=timezone.now()),
    )


@require_POST
def not_yet(request: HttpRequest, person: int, link: int) -> HttpResponse:
    return answered(
        request,
        person,
        f"wait {link}",
        lambda by: floor.not_dry_yet(
            link=_link_of(request, link),
            hours_more=_pressed_or_typed(request, "hours_more"),
            by=by,
            now=timezone.now(),
        ),
    )


@require_POST
def undo(request: HttpRequest, person: int, event: int) -> HttpResponse:
    found = get_object_or_404(FloorEvent, pk=event, **in_work(request, "build__status"))
    return answered(
        request, person, f"undo {event}", lambda by: floor.undo(event=found, by=by, now=timezone.now())
    )


def _link_of(request: HttpRequest, pk: int) -> Link:
    rows = (
        Link.objects.all() if waited_on_the_tablet(request) else Link.objects.filter(after__removed_at=None)
    )
    return get_object_or_404(rows, pk=pk, **in_work(request, "after__build__status"))


def _pressed_or_typed(request: HttpRequest, name: str) -> str:
    """A choice that was pressed, or what was typed beside the choices."""
    return request.POST.get(name, "") or request.POST.get(f"{name}_typed", "")
