"""What falls on each day of the crew sheet: deliveries, hold points, and waits that end."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Q

from builds.models import Delivery, Link, Shop
from builds.queries.opening import OpeningTimes
from builds.queries.planned_work import Work
from builds.queries.readiness import stretched_wait

SHORTEST_WAIT_MINUTES = 120
LONGEST_WAIT = timedelta(days=30)
MOST_A_DAY = 4


@dataclass(frozen=True, slots=True)
class Falls:
    """One thing on one day; `task` leads to it, with its build, where it is one."""

    words: str
    build: int | None = None
    task: int | None = None


@dataclass(frozen=True, slots=True)
class Wait:
    """Clock time after a task ends until what follows it may start."""

    task: int
    build: int
    name: str
    group_name: str
    since: datetime
    until: datetime


@dataclass(frozen=True, slots=True)
class DayFoot:
    """A row at the foot: its name and shape, and for each day what falls on it and how many more."""

    name: str
    shape: str
    days: tuple[tuple[tuple[Falls, ...], int], ...]


def day_feet(
    days: Sequence[date], work: Iterable[Work], vans: Mapping[int, str], times: OpeningTimes, shop: Shop
) -> tuple[DayFoot, ...]:
    """The rows that have anything in these days; two queries."""
    if not days:
        return ()
    rows = (
        ("Deliveries", "delivery", _deliveries(days, vans)),
        ("Hold points", "hold", _checks(work, vans, times)),
        ("Waits that end", "waiting", _waits(days, vans, times, shop)),
    )
    found = []
    for name, shape, falls in rows:
        by_day: dict[date, list[Falls]] = defaultdict(list)
        for day, fall in falls:
            by_day[day].append(fall)
        if any(day in by_day for day in days):
            cut = ((tuple(by_day[d][:MOST_A_DAY]), max(0, len(by_day[d]) - MOST_A_DAY)) for d in days)
            found.append(DayFoot(name, shape, tuple(cut)))
    return tuple(found)


def _deliveries(days: Sequence[date], vans: Mapping[int, str]) -> Iterator[tuple[date, Falls]]:
    rows = Delivery.objects.filter(expected_on__range=(days[0], days[-1]), arrived_on=None, on_shelf_on=None)
    for what, on, build in rows.values_list("what", "expected_on", "build_id"):
        if build is None or build in vans:
            yield on, Falls(f"{vans.get(build, 'the shop')}: {what}")


def _checks(
    work: Iterable[Work], vans: Mapping[int, str], times: OpeningTimes
) -> Iterator[tuple[date, Falls]]:
    for row in work:
        if row.is_open_check and row.finish is not None and row.state != "done":
            yield (
                times.day_of(row.finish),
                Falls(f"{vans.get(row.build, '')}: {row.check}", row.build, row.pk),
            )


def _waits(
    days: Sequence[date], vans: Mapping[int, str], times: OpeningTimes, shop: Shop
) -> Iterator[tuple[date, Falls]]:
    start, end = times.start_of(days[0]), times.start_of(days[-1] + timedelta(days=1))
    for wait in waits_between(start, end, shop):
        if start <= wait.until < end:
            what = f"{vans.get(wait.build, '')}, {wait.group_name}: {wait.name}"
            words = f"{what}, from {wait.until.astimezone(times.zone):%H:%M}"
            yield times.day_of(wait.until), Falls(words, wait.build, wait.task)


def waits_between(start: datetime, end: datetime, shop: Shop) -> Iterator[Wait]:
    """When work that dries or settles is ready for what comes next, by the plan or by how it went.

    One query; waits under two hours are left out, and those that nothing waits for any more.
    """
    since = start - LONGEST_WAIT
    begun = Q(before__planned__finish__range=(since, end)) | Q(before__finished_at__range=(since, end))
    links = (
        Link.objects.filter(begun, wait_minutes__gte=SHORTEST_WAIT_MINUTES, before__build__status="agreed")
        .filter(before__removed_at=None, after__removed_at=None)
        .exclude(after__state__in=("done", "under way"))
        .select_related("before__planned", "before__unit", "before__installation")
        .order_by("before__build_id", "pk")
    )
    seen: set[tuple[int, datetime]] = set()
    for link in links:
        before = link.before
        row = getattr(before, "planned", None)
        ended = before.finished_at or (row.finish if row else None)
        if ended is None:
            continue
        until = link.dry_at or ended + timedelta(minutes=stretched_wait(link, shop))
        if (before.pk, until) not in seen and until > start:
            seen.add((before.pk, until))
            yield Wait(before.pk, before.build_id, before.name, before.group_name, ended, until)
