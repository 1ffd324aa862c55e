"""The hours of a week as they are on record: per person and per van, never held against each other.

People stand in the order of their names. There is no sum over people and nothing is sorted by hours: the
figures are for wages and for the next plan, not for comparing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from builds.engines.floor.projection import Round, project
from builds.models import FloorEvent, Person, Task
from builds.queries.events import as_event
from builds.queries.opening import OpeningTimes

FINISHING = ("tick", "sheet cut", "pass", "overrule", "bulk tick")


@dataclass(frozen=True, slots=True)
class HoursTaken:
    """One piece of work that was done: the crew's working hours, each of them. None: none were given."""

    tick: int
    at: datetime
    day: date
    build: int
    van: str
    task: int
    work: str
    hours: Decimal | None
    crew: tuple[str, ...]
    is_corrected: bool


@dataclass(frozen=True, slots=True)
class HoursLines:
    """The lines of one person or one van with their sum: of a person their own, of a van all hands."""

    name: str
    hours: Decimal
    lines: tuple[HoursTaken, ...]


@dataclass(frozen=True)
class HoursWeek:
    monday: date
    people: tuple[HoursLines, ...]
    vans: tuple[HoursLines, ...]

    @property
    def earlier(self) -> date:
        return self.monday - timedelta(days=7)

    @property
    def later(self) -> date:
        return self.monday + timedelta(days=7)


@dataclass(frozen=True, slots=True)
class HoursWord:
    """What was said of one tick's hours: by the tick itself first, then by each correction."""

    who: str
    at: datetime
    hours: Decimal | None
    crew: tuple[str, ...]
    why: str


@dataclass(frozen=True)
class HoursOfTick:
    taken: HoursTaken
    crew: tuple[int, ...]
    said: tuple[HoursWord, ...]
    last: int


def hours_week(monday: date, times: OpeningTimes) -> HoursWeek:
    """Reads what was done in the week of `monday`; four queries."""
    start, end = times.start_of(monday), times.start_of(monday + timedelta(days=7))
    ticks = FloorEvent.objects.filter(verb__in=FINISHING, happened_at__gte=start, happened_at__lt=end)
    tasks = Task.objects.filter(pk__in=ticks.exclude(outcome="refused").values("task"))
    found = [t for t in _taken(tasks.select_related("build"), times) if start <= t.at < end]
    found.sort(key=lambda t: (t.at, t.tick))
    return HoursWeek(
        monday,
        _grouped(found, lambda t: t.crew, whole_crew=False),
        _grouped(found, lambda t: (t.van,), whole_crew=True),
    )


def hours_of_tick(tick: FloorEvent, times: OpeningTimes) -> HoursOfTick | None:
    """One tick with all that was said of its hours; None where it does not count any more."""
    tasks = Task.objects.filter(pk=tick.task_id).select_related("build")
    taken = next((t for t in _taken(tasks, times) if t.tick == tick.pk), None)
    if taken is None:
        return None
    names = dict(Person.objects.values_list("pk", "name"))
    rows = FloorEvent.objects.filter(about=tick, verb="hours").select_related("user", "person").order_by("pk")
    words = [tick, *rows]
    last = words[-1]
    crew = last.payload.get("crew") if last is not tick else None
    return HoursOfTick(
        taken=taken,
        crew=tuple(crew) if crew else tuple(pk for pk, name in names.items() if name in taken.crew),
        said=tuple(_word(row, names) for row in words),
        last=last.pk if last is not tick else 0,
    )


def _taken(tasks: Iterable[Task], times: OpeningTimes) -> list[HoursTaken]:
    rows = {task.pk: task for task in tasks}
    names = dict(Person.objects.values_list("pk", "name"))
    events = defaultdict(list)
    corrected = set()
    for event in FloorEvent.objects.filter(task__in=rows, outcome__in=("kept", "to settle")):
        events[event.task_id].append(as_event(event))
        if event.verb == "hours":
            corrected.add(event.about_id)
    return [
        _line(rows[task], done, names, done.tick in corrected, times)
        for task, said in events.items()
        for done in project(said).rounds
    ]


def _line(
    task: Task, done: Round, names: dict[int, str], is_corrected: bool, times: OpeningTimes
) -> HoursTaken:
    return HoursTaken(
        tick=done.tick,
        at=done.at,
        day=times.day_of(done.at),
        build=task.build_id,
        van=task.build.name,
        task=task.pk,
        work=task.name,
        hours=done.hours,
        crew=tuple(names[pk] for pk in done.crew if pk in names),
        is_corrected=is_corrected,
    )


def _grouped(
    found: Iterable[HoursTaken], names_of: Callable[[HoursTaken], tuple[str, ...]], *, whole_crew: bool
) -> tuple[HoursLines, ...]:
    groups: dict[str, list[HoursTaken]] = defaultdict(list)
    for line in found:
        for name in names_of(line):
            groups[name].append(line)
    return tuple(
        HoursLines(name, sum((_hours(t, whole_crew) for t in groups[name]), Decimal(0)), tuple(groups[name]))
        for name in sorted(groups, key=str.casefold)
    )


def _hours(line: HoursTaken, whole_crew: bool) -> Decimal:
    return (line.hours or Decimal(0)) * (max(1, len(line.crew)) if whole_crew else 1)


def _word(row: FloorEvent, names: dict[int, str]) -> HoursWord:
    given = row.payload.get("hours")
    people = [*(row.payload.get("crew") or ())]
    if row.verb != "hours" and row.person_id and row.person_id not in people:
        people.append(row.person_id)
    return HoursWord(
        who=str(row.person or row.user or "Somebody"),
        at=row.happened_at,
        hours=Decimal(str(given)) if given else None,
        crew=tuple(names[int(pk)] for pk in people if int(pk) in names),
        why=str(row.payload.get("reason") or "") if row.verb == "hours" else "",
    )
