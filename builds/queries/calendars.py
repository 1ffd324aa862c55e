"""What goes into calendars outside: a fitter's plan, the shop's dates; and the links to them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from builds.engines.planning.calendar import work_stretches
from builds.models import Build, CalendarLink, Delivery, Person, PlanRow, PlanState, Shop, VisitDay
from builds.queries.fitters import Somebody, people_at_work
from builds.queries.forecast import forecast_of
from builds.queries.opening import OpeningTimes, instant, minute, opening_times
from builds.queries.tablets import hash_of

BACK_DAYS = 14
"""Days gone by that a calendar still shows."""


@dataclass(frozen=True)
class CalendarEntry:
    """One entry: instants for work, dates (the end not included) for what takes the whole day."""

    uid: str
    start: datetime | date
    end: datetime | date
    summary: str
    place: str = ""
    words: str = ""


@dataclass(frozen=True)
class CalendarLine:
    """One calendar in the owner's list with its links that still work; `person` is None for the shop's."""

    person: int | None
    name: str
    links: tuple[CalendarLink, ...]


def calendar_lines() -> tuple[CalendarLine, ...]:
    """The shop's calendar first, then everybody at work, and who left a link behind; two queries."""
    links: dict[int | None, list[CalendarLink]] = {}
    for link in CalendarLink.objects.filter(withdrawn_at=None):
        links.setdefault(link.person_id, []).append(link)
    people = [(p.pk, p.name) for p in Person.objects.all() if p.left_on is None or p.pk in links]
    rows = [(None, "The shop: deliveries, visits, handovers"), *people]
    return tuple(CalendarLine(pk, name, tuple(links.get(pk, ()))) for pk, name in rows)


def open_calendar_link(token: str) -> CalendarLink | None:
    """The link with this token, unless it was withdrawn or its person has left."""
    if not 20 <= len(token) <= 100:
        return None
    links = CalendarLink.objects.select_related("person").filter(withdrawn_at=None, person__left_on=None)
    return links.filter(token_hash=hash_of(token)).first()


def fitter_entries(person: Person, now: datetime, shop: Shop) -> tuple[CalendarEntry, ...]:
    """A person's planned work, one entry for each day a task is worked on, and what is under way."""
    times = opening_times(shop)
    today = times.day_of(now)
    somebody = next((p for p in people_at_work(times, today) if p.pk == person.pk), None)
    rows = (
        PlanRow.objects.filter(task__build__status="agreed", task__removed_at=None, finish__gt=now)
        .exclude(task__state="done")
        .select_related("task__build", "task__unit", "task__installation", "task__place")
        .order_by("start", "task_id")
    )
    mine = [row for row in rows if person.pk in row.fitters]
    if somebody is None or not mine:
        return ()
    last = times.day_of(max(row.finish for row in mine))
    opening = times.for_planner(today - timedelta(days=BACK_DAYS), last)
    return tuple(
        CalendarEntry(
            uid=f"task-{row.task_id}-{person.pk}-{day:%Y%m%d}",
            start=start,
            end=end,
            summary=f"{row.task.build.name}: {row.task.name}",
            place=row.task.place.name,
            words="\n".join(filter(None, (row.task.group_name, row.task.reminder, row.task.materials))),
        )
        for row in mine
        for day, start, end in _days_at_work(row, somebody, times, opening)
    )


def _days_at_work(
    row: PlanRow, somebody: Somebody, times: OpeningTimes, opening
) -> Iterator[tuple[date, datetime, datetime]]:
    """Each day of a planned task with its first and last minute at work, breaks between left in."""
    start, finish = minute(row.start), minute(row.finish)
    day, last = times.day_of(row.start), times.day_of(row.finish)
    while day <= last:
        here = [
            (max(a, start), min(b, finish))
            for a, b in work_stretches(opening, somebody.fitter, day)
            if a < finish and b > start and not any(f <= a and u >= b for f, u in somebody.fitter.away)
        ]
        if here:
            yield day, instant(here[0][0]), instant(here[-1][1])
        day += timedelta(days=1)


def shop_entries(now: datetime, shop: Shop) -> tuple[CalendarEntry, ...]:
    """Deliveries, visits and handovers as whole days, from two weeks ago on; seven queries."""
    times = opening_times(shop)
    since = times.day_of(now) - timedelta(days=BACK_DAYS)
    return (*_deliveries(since), *_visits(since), *_handovers(times))


def _deliveries(since: date) -> Iterator[CalendarEntry]:
    rows = Delivery.objects.select_related("build", "supplier").filter(arrived_on=None)
    for row in rows.exclude(expected_on__lt=since):
        van = f" for {row.build.name}" if row.build else ""
        who = "the customer" if row.from_customer else row.supplier.name if row.supplier else ""
        words = f"From {who}" if who else ""
        yield _whole_day(f"delivery-{row.pk}", row.expected_on, f"Delivery: {row.what}{van}", words)


def _visits(since: date) -> Iterator[CalendarEntry]:
    rows = VisitDay.objects.select_related("person").filter(date__gte=since, person__left_on=None)
    for row in rows:
        yield _whole_day(f"visit-{row.pk}", row.date, f"Visit: {row.person.name}", row.note)


def _handovers(times: OpeningTimes) -> Iterator[CalendarEntry]:
    """The promised day of each van; where the plan gives another, the words say so."""
    state = PlanState.objects.first()
    for build in Build.objects.to_plan().filter(handed_over_on=None).exclude(promised_on=None):
        forecast = forecast_of(build, state, times)
        words = f"The plan now: {forecast.words}"
        yield _whole_day(f"handover-{build.pk}", build.promised_on, f"Handover: {build.name}", words)


def _whole_day(uid: str, day: date, summary: str, words: str) -> CalendarEntry:
    return CalendarEntry(uid, day, day + timedelta(days=1), summary, words=words)
