"""What a week of a build looks like from outside: the raw material of the customer's progress sheet.

Nothing here tells of hours, cost, misses against plan or the live forecast.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from builds.models import Build, Decision, FloorEvent, HoldPoint, Note, Photo, Task
from builds.queries.opening import OpeningTimes, monday_of

MOST_PHOTOS = 6
MOST_NAMES = 4
"""Of one unit, installation or part of the job; a week of cutting out would fill the sheet otherwise."""

VISIT_PHASES = ("dry fit", "dry-fit")


@dataclass(frozen=True)
class WeekDraft:
    """First words for each part of a progress sheet, one line a point, and the photos to begin with."""

    done: str
    next: str
    decide: str
    visit: str
    photo_ids: tuple[int, ...]


def draft_of_week(build: Build, monday: date, times: OpeningTimes) -> WeekDraft:
    """Drafts the sheet of the week of `monday` from its ticks, photos, notes, checks and the plan."""
    start, end = times.start_of(monday), times.start_of(monday + timedelta(days=7))
    done = Task.objects.kept().filter(
        build=build, state="done", customer_sees=True, finished_at__gte=start, finished_at__lt=end
    )
    notes = Note.objects.filter(build=build, for_customer=True, at__gte=start, at__lt=end).order_by("at")
    photos = Photo.objects.filter(build=build, for_customer=True, taken_at__gte=start, taken_at__lt=end)
    lines = [*_grouped(done.select_related("unit", "installation")), *_checks(build, start, end)]
    return WeekDraft(
        done="\n".join([*lines, *(note.text.strip() for note in notes)]),
        next="\n".join(_grouped(_work_of(build, end, end + timedelta(days=7)))),
        decide="\n".join(_questions(build)),
        visit=_visit(build, end),
        photo_ids=tuple(photos.order_by("-taken_at").values_list("pk", flat=True)[:MOST_PHOTOS]),
    )


def _grouped(tasks: Iterable[Task]) -> list[str]:
    """One line a unit or installation, van-wide work by phase: "Kitchen: glue up, first coat"."""
    groups: dict[str, list[str]] = defaultdict(list)
    for task in tasks:
        name = plain_name(task)
        group = task.group_name if task.unit or task.installation else task.phase or task.group_name
        if name not in groups[group]:
            groups[group].append(name)
    return [f"{group}: {_some(names)}" for group, names in groups.items()]


def _some(names: list[str]) -> str:
    """Names with commas of their own are kept apart by semicolons."""
    joint = "; " if any("," in name for name in names) else ", "
    more = len(names) - MOST_NAMES
    return joint.join(names) if more < 2 else f"{joint.join(names[:MOST_NAMES])} and {more} more"


def plain_name(task: Task) -> str:
    """The task without its unit's name, beginning small, as it reads within a line."""
    name = task.name
    for owner in (task.unit, task.installation):
        if owner is not None:
            for joint in (f"{owner.name}: ", f"{owner.name} – ", f"{owner.name}, "):
                name = name.removeprefix(joint)
    first, rest = name[:1], name[1:]
    return (first if rest[:1].isupper() or not rest[:1].isalpha() else first.lower()) + rest


def _work_of(build: Build, start, end) -> Iterable[Task]:
    return (
        Task.objects.unfinished()
        .filter(build=build, customer_sees=True, planned__start__lt=end, planned__finish__gt=start)
        .select_related("unit", "installation")
        .order_by("planned__start")
    )


def _checks(build: Build, start, end) -> list[str]:
    passed = HoldPoint.objects.filter(
        task__build=build,
        state="passed",
        records__outcome="passed",
        records__at__gte=start,
        records__at__lt=end,
    ).distinct()
    return [f"Checked and on record: {point.name.lower()}" for point in passed]


def _questions(build: Build) -> list[str]:
    open_ones = Decision.objects.filter(build=build, decided_on=None)
    return [f"{d.what}: please by {d.needed_by:%a} {d.needed_by.day} {d.needed_by:%b}" for d in open_ones]


def _visit(build: Build, after) -> str:
    """Suggests the dry fit, when furniture stands in the van and can still be changed."""
    fits = Task.objects.unfinished().filter(build=build, planned__start__gte=after, name__icontains="dry")
    soon = fits.filter(planned__start__lt=after + timedelta(days=14)).order_by("planned__start").first()
    if soon is None:
        return ""
    monday = monday_of(soon.planned.start.date())
    return (
        "The furniture is offered up in the van soon, the best time to look and still change things. "
        f"Ring us for a time in the week of {monday.day} {monday:%B}."
    )


def week_has_news(build: Build, monday: date, times: OpeningTimes) -> bool:
    start, end = times.start_of(monday), times.start_of(monday + timedelta(days=7))
    return FloorEvent.objects.filter(build=build, happened_at__gte=start, happened_at__lt=end).exists()
