"""The crew sheet: people down, days across in halves; who is where, away, or free."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from builds.engines.planning.calendar import work_stretches
from builds.models import Build, Shop
from builds.queries.day_feet import DayFoot, day_feet
from builds.queries.fitters import Somebody, people_at_work
from builds.queries.opening import OpeningTimes, minute, monday_of, opening_times
from builds.queries.planned_work import Work, agreed_tasks, between, read_work

MOST_WEEKS = 4
NOON = 12 * 60 + 30


@dataclass(frozen=True, slots=True)
class DayHead:
    day: date
    closed: str
    is_today: bool
    is_over: bool
    starts_week: bool


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of work in a half day; `words` name it, `build` and `task` lead to it."""

    task: int
    build: int
    van: str
    words: str
    shape: str
    is_told: bool
    goes_on: bool


@dataclass(frozen=True, slots=True)
class HalfDay:
    """A morning or an afternoon of one person: what they are on, and in `note` what else there is to say.

    `note` is "away", "not here", "free", "booked" or "not booked" (a visitor), or nothing.
    """

    half: str
    pieces: tuple[Piece, ...]
    note: str
    is_closed: bool
    is_today: bool
    starts_week: bool

    @property
    def is_away(self) -> bool:
        return self.note in ("away", "not here")


@dataclass(frozen=True, slots=True)
class CrewRow:
    pk: int
    name: str
    trades: str
    is_visitor: bool
    halves: tuple[HalfDay, ...]


@dataclass(frozen=True)
class CrewSheet:
    first: date
    weeks: int
    days: tuple[DayHead, ...]
    rows: tuple[CrewRow, ...]
    feet: tuple[DayFoot, ...]

    @property
    def earlier(self) -> date:
        return self.first - timedelta(weeks=self.weeks)

    @property
    def later(self) -> date:
        return self.first + timedelta(weeks=self.weeks)


def crew_sheet(now: datetime, *, first: date | None = None, weeks: int = 2, shop: Shop) -> CrewSheet:
    """Reads the people's half days from the week of `first` on, and what falls on each day; eight queries."""
    times = opening_times(shop)
    today = times.day_of(now)
    first = monday_of(first or today)
    weeks = max(1, min(weeks, MOST_WEEKS))
    days = [first + timedelta(days=n) for n in range(7 * weeks)]
    days = [d for d in days if times.week.get(d.weekday()) or times.own_closed.get(d)]
    people = people_at_work(times, min(today, first))
    names = dict(Build.objects.to_plan().values_list("pk", "name"))
    start, end = times.start_of(first), times.start_of(first + timedelta(weeks=weeks))
    work = read_work(agreed_tasks().filter(between(start, end)), reasons=False)
    heads = tuple(_head(d, times, today) for d in days)
    opening = times.for_planner(first - timedelta(days=7), first + timedelta(days=7 * weeks + 7))
    on = _by_person(work)
    rows = (_row(p, heads, on.get(p.pk, ()), names, times, opening) for p in people)
    return CrewSheet(
        first,
        weeks,
        heads,
        tuple(row for row in rows if not row.is_visitor or any(h.note or h.pieces for h in row.halves)),
        day_feet(days, work, names, times, shop),
    )


def _row(
    person: Somebody, heads: Sequence[DayHead], work: Sequence[Work], names, times: OpeningTimes, opening
) -> CrewRow:
    halves: list[HalfDay] = []
    for head in heads:
        halves += _halves(person, head, work, names, times, opening)
    seen: set[int] = set()
    for n, half in enumerate(halves):
        halves[n] = replace(
            half,
            pieces=tuple(replace(p, goes_on=p.task in seen and not half.starts_week) for p in half.pieces),
        )
        seen |= {p.task for p in half.pieces}
    trades = ", ".join(sorted(person.fitter.trades)) or "helps"
    return CrewRow(person.pk, person.name, trades, person.is_visitor, tuple(halves))


def _by_person(work: Iterable[Work]) -> dict[int, list[Work]]:
    found: dict[int, list[Work]] = defaultdict(list)
    for row in work:
        for person in row.fitters:
            if row.start is not None and row.finish is not None:
                found[person].append(row)
    return found


def _head(day: date, times: OpeningTimes, today: date) -> DayHead:
    return DayHead(day, times.why_closed(day) or "", day == today, day < today, day.weekday() == 0)


def _halves(
    person: Somebody, head: DayHead, work: Sequence[Work], names: dict[int, str], times: OpeningTimes, opening
) -> Iterable[HalfDay]:
    """The morning and the afternoon of one day. Noon is the end of the usual first half, 12:30."""
    midnight = minute(times.start_of(head.day))
    here = list(work_stretches(opening, person.fitter, head.day))
    for half, since, until in (("morning", 0, NOON), ("afternoon", NOON, 24 * 60)):
        start, end = midnight + since, midnight + until
        open_now = [(max(a, start), min(b, end)) for a, b in here if a < end and b > start]
        pieces = tuple(_piece(w, names) for w in work if _works_in(w, open_now))
        yield HalfDay(
            half=half,
            pieces=pieces,
            note="" if head.closed else _note(person, head, open_now, bool(pieces)),
            is_closed=bool(head.closed),
            is_today=head.is_today,
            starts_week=head.starts_week and half == "morning",
        )


def _works_in(work: Work, stretches: Sequence[tuple[int, int]]) -> bool:
    start, finish = minute(work.start), max(minute(work.finish), minute(work.start) + 1)
    return any(start < b and finish > a for a, b in stretches)


def _note(person: Somebody, head: DayHead, stretches: Sequence[tuple[int, int]], works: bool) -> str:
    """What there is to say of a half day besides the work in it."""
    if person.is_visitor:
        booked = head.day in (person.fitter.booked or ())
        return ("" if booked else "not booked") if works else ("booked" if booked else "")
    if works:
        return ""
    if not stretches:
        return "not here"
    if all(any(a <= start and b >= end for a, b in person.fitter.away) for start, end in stretches):
        return "away"
    return "" if head.is_over else "free"


def _piece(work: Work, names: dict[int, str]) -> Piece:
    shape = work.state if work.state != "to do" else "hold" if work.is_open_check else "to do"
    return Piece(
        task=work.pk,
        build=work.build,
        van=names.get(work.build, ""),
        words=work.name if work.group[0] == "van" else f"{work.group_name}: {work.name}",
        shape=shape,
        is_told=work.told is not None,
        goes_on=False,
    )
