"""One fitter's week for the job sheet: day by day, what, where, with whom, and what to look out for."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from builds.models import Caution, Delivery, HoldPoint, Link, Person, PlanRow, Shop
from builds.queries.opening import OpeningTimes, opening_times


@dataclass(frozen=True)
class JobLine:
    """One task on one day: its hours that day as clock times, and all a fitter wants to know."""

    task: int
    van: str
    group: str
    name: str
    place: str
    times: str
    with_whom: str
    leads: bool
    at_hand: str
    to_find: tuple[str, ...]
    after: tuple[str, ...]
    reminder: str
    caution: str
    hold_point: str
    goes_on: bool


@dataclass(frozen=True)
class JobDay:
    day: date
    words: str
    closed: str
    lines: tuple[JobLine, ...]


@dataclass(frozen=True)
class JobWeek:
    """A person's job sheet for the week of `monday`."""

    title: str
    shop_name: str
    person: str
    monday: date
    week_words: str
    days: tuple[JobDay, ...]
    cautions: tuple[str, ...]
    made_words: str

    @property
    def is_empty(self) -> bool:
        return not any(day.lines for day in self.days)


def day_words(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


def job_week(person: Person, monday: date, now: datetime) -> JobWeek:
    """The week of `person` from the current plan, days that are over left out; eight queries."""
    shop = Shop.objects.get(pk=1)
    times = opening_times(shop)
    end = monday + timedelta(days=7)
    rows = [row for row in _rows(times.start_of(monday), times.start_of(end)) if person.pk in row.fitters]
    about = _About.read([row.task_id for row in rows])
    first = min(max(monday, times.day_of(now)), end)
    left = [first + timedelta(days=n) for n in range((end - first).days)]
    days = tuple(_day(day, rows, person, times, about) for day in left)
    cautions = {line.caution for day in days for line in day.lines if line.caution}
    texts = dict(Caution.objects.filter(key__in=cautions).values_list("key", "text"))
    return JobWeek(
        title=f"Job sheet: {person.name}, week of {day_words(monday)}",
        shop_name=shop.name,
        person=person.name,
        monday=monday,
        week_words=f"Week of {day_words(monday)} {monday.year}, week {monday.isocalendar().week}",
        days=tuple(day for day in days if day.lines or day.day.weekday() < 5),
        cautions=tuple(texts[key] for key in sorted(texts)),
        made_words=(
            f"As planned on {day_words(times.day_of(now))}. The wall and the tablet know later changes."
        ),
    )


def _rows(start: datetime, end: datetime) -> list[PlanRow]:
    return list(
        PlanRow.objects.filter(start__lt=end, finish__gt=start)
        .exclude(task__state="done")
        .select_related("task__build", "task__unit", "task__installation", "task__place")
        .order_by("start", "task__order")
    )


@dataclass(frozen=True)
class _About:
    """What belongs to the tasks of a week: names of people, predecessors, things to find, checks."""

    people: dict[int, str]
    after: dict[int, list[str]]
    to_find: dict[int, list[str]]
    checks: dict[int, str]

    @classmethod
    def read(cls, tasks: list[int]) -> _About:
        after, to_find = defaultdict(list), defaultdict(list)
        links = Link.objects.filter(after__in=tasks, before__removed_at=None).exclude(before__state="done")
        for task, name, wait in links.values_list("after_id", "before__name", "wait_minutes"):
            after[task].append(f"{name}, then {_wait_words(wait)}" if wait else name)
        missing = Delivery.objects.filter(tasks__in=tasks, on_shelf_on=None)
        for task, what in missing.values_list("tasks", "what"):
            to_find[task].append(what)
        checks = dict(HoldPoint.objects.filter(task__in=tasks).values_list("task_id", "name"))
        return cls(dict(Person.objects.values_list("pk", "name")), after, to_find, checks)


def _wait_words(minutes: int) -> str:
    hours = minutes / 60
    return f"{hours:g} hours' wait" if hours != 1 else "an hour's wait"


def _day(day: date, rows: list[PlanRow], person: Person, times: OpeningTimes, about: _About) -> JobDay:
    start, end = times.start_of(day), times.start_of(day + timedelta(days=1))
    here = [row for row in rows if row.start < end and row.finish > start]
    shut = times.why_closed(day)
    lines = () if shut is not None else tuple(_line(row, person, start, end, times, about) for row in here)
    return JobDay(day=day, words=f"{day:%A} {day.day} {day:%B}", closed=shut or "", lines=lines)


def _times(row: PlanRow, start, end, begins: datetime, ends: datetime) -> str:
    if row.start < start:
        return f"goes on to {ends:%H:%M}" if row.finish <= end else "goes on all day"
    return f"{begins:%H:%M} to {ends:%H:%M}" if row.finish <= end else f"from {begins:%H:%M}"


def _line(row: PlanRow, person: Person, start, end, times: OpeningTimes, about: _About) -> JobLine:
    task = row.task
    begins = max(row.start, start).astimezone(times.zone)
    ends = min(row.finish, end).astimezone(times.zone)
    words = _times(row, start, end, begins, ends)
    others = [about.people.get(pk, "?") for pk in row.fitters if pk != person.pk]
    return JobLine(
        task=task.pk,
        van=task.build.name,
        group=task.group_name,
        name=task.name,
        place=task.place.name,
        times=words,
        with_whom=", ".join(others),
        leads=bool(row.fitters) and row.fitters[0] == person.pk,
        at_hand=task.materials,
        to_find=tuple(about.to_find.get(task.pk, ())),
        after=tuple(about.after.get(task.pk, ())),
        reminder=task.reminder,
        caution=task.caution,
        hold_point=about.checks.get(task.pk, ""),
        goes_on=row.finish > end,
    )
