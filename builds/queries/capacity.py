"""Hours needed against hours there are: the one place where a week's capacity is counted."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Protocol

from builds.engines.planning.calendar import open_minutes, work_stretches
from builds.engines.planning.problem import Fitter, Opening

from .fitters import Somebody
from .opening import OpeningTimes, minute, monday_of

WEEK = timedelta(days=7)


class Rows(Protocol):
    """What is needed of planned work: see `planned_work.Work`."""

    trade: str
    crew: int
    hours: float
    start: datetime | None
    finish: datetime | None
    fitters: tuple
    pin: date | None


@dataclass(frozen=True, slots=True)
class HoursOfTrade:
    """One trade in one week: hours its leads are needed, hours they have for it, who they are.

    What somebody is planned for in another trade is taken off, so no hour is offered twice; hours
    nobody is planned for stand with each trade that could use them.
    """

    trade: str
    needed: float
    there: float
    people: tuple[str, ...]

    @property
    def over(self) -> float:
        return max(0.0, round(self.needed - self.there, 2))


@dataclass(frozen=True, slots=True)
class WeekHours:
    """One week, or what is left of it: by trade the hours of those who lead, and of all hands.

    In `hands` everybody counts once, helpers and apprentices too.
    """

    monday: date
    trades: tuple[HoursOfTrade, ...]
    hands: HoursOfTrade

    @property
    def over(self) -> float:
        return max([self.hands.over, *(t.over for t in self.trades)], default=0.0)

    def trade(self, key: str) -> HoursOfTrade:
        empty = HoursOfTrade(key, 0.0, 0.0, ())
        return next((t for t in self.trades if t.trade == key), empty)


@dataclass(frozen=True, slots=True)
class _Stretch:
    """The part of a week that is counted, as instants."""

    opening: Opening
    now: int
    start: int
    end: int


def week_hours(
    monday: date,
    *,
    now: datetime,
    times: OpeningTimes,
    plannable_share: float,
    people: Sequence[Somebody],
    rows: Iterable[Rows],
    trades: Sequence[str] = (),
) -> WeekHours:
    """Counts the week of `monday` from `now` on, in hours of work.

    There: opening hours (or a person's own) less closed days and absences, times the plannable
    share. Needed: the plan's rows cut at the week's ends, and work pinned to the week that the
    plan had to put later. `trades` gives the order of the answer; others follow.
    """
    stretch = _counted(monday, now, times)
    there = {p.fitter.id: hours_there(p, stretch.opening, monday, now, plannable_share) for p in people}
    fitters = [p.fitter for p in people]
    lead, hands, spent = _needed(rows, monday, stretch)
    leads: dict[str, list[Fitter]] = defaultdict(list)
    for fitter in fitters:
        for trade in fitter.trades:
            leads[trade].append(fitter)
    known = [*trades, *sorted(({*lead, *leads}) - set(trades))]
    return WeekHours(
        monday=monday,
        trades=tuple(
            _of_trade(t, lead.get(t, 0.0), leads.get(t, []), there, spent)
            for t in known
            if lead.get(t) or leads.get(t)
        ),
        hands=HoursOfTrade("", round(hands, 2), round(sum(there.values()), 2), tuple(there)),
    )


def hours_there(person: Somebody, opening: Opening, monday: date, now: datetime, share: float) -> float:
    """One person's hours for work in the week of `monday`, from `now` on.

    A visitor counts on booked days only, though the plan may count on days yet to be booked.
    """
    fitter = replace(person.fitter, days=frozenset()) if person.is_visitor else person.fitter
    since, total = minute(now), 0
    for ahead in range(7):
        for start, end in work_stretches(opening, fitter, monday + timedelta(days=ahead)):
            total += _less_absences(max(start, since), end, fitter.away)
    return total / 60 * share


def _less_absences(start: int, end: int, away: Sequence[tuple[int, int]]) -> int:
    """Minutes from `start` to `end` outside all of `away`, which may overlap."""
    left, at = 0, start
    for since, until in sorted(away):
        if until <= at or since >= end:
            continue
        left += max(0, since - at)
        at = max(at, until)
    return left + max(0, end - at)


def _counted(monday: date, now: datetime, times: OpeningTimes) -> _Stretch:
    start, end = times.start_of(monday), times.start_of(monday + WEEK)
    opening = times.for_planner(monday - 8 * WEEK, monday + 8 * WEEK)
    return _Stretch(opening, minute(now), minute(max(start, now)), minute(end))


def _needed(
    rows: Iterable[Rows], monday: date, stretch: _Stretch
) -> tuple[dict[str, float], float, dict[str, dict[str, float]]]:
    lead: dict[str, float] = defaultdict(float)
    spent: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    hands = 0.0
    for row in rows:
        if row.start is None or row.finish is None:
            continue
        hours = row.hours * _share_in(minute(row.start), minute(row.finish), stretch)
        for person in row.fitters:
            spent[str(person)][row.trade] += hours
        if row.pin == monday and minute(row.start) >= stretch.end:
            hours = row.hours
        lead[row.trade] += hours
        hands += hours * row.crew
    return lead, hands, spent


def _share_in(start: int, finish: int, stretch: _Stretch) -> float:
    """The part of a row's work ahead that falls into the stretch: by opening minutes, else by the clock."""
    if finish <= stretch.start or start >= stretch.end:
        return 0.0
    if start >= stretch.start and finish <= stretch.end:
        return 1.0
    since, until = max(start, stretch.start), min(finish, stretch.end)
    ahead = max(start, stretch.now)
    whole = open_minutes(stretch.opening, ahead, finish)
    if whole:
        return open_minutes(stretch.opening, since, until) / whole
    return (until - since) / (finish - ahead)


def _of_trade(
    trade: str,
    needed: float,
    leads: Sequence[Fitter],
    there: Mapping[str, float],
    spent: Mapping[str, Mapping[str, float]],
) -> HoursOfTrade:
    total = 0.0
    for fitter in leads:
        elsewhere = sum(h for other, h in spent.get(fitter.id, {}).items() if other != trade)
        total += max(0.0, there[fitter.id] - elsewhere)
    return HoursOfTrade(trade, round(needed, 2), round(total, 2), tuple(f.id for f in leads))


def hours_in_weeks(row: Rows, bounds: Sequence[datetime], opening: Opening) -> dict[int, float]:
    """A row's hours by week number in `bounds` (week k runs from bounds[k] to bounds[k + 1])."""
    if row.start is None or row.finish is None:
        return {}
    start, finish = minute(row.start), minute(row.finish)
    edges = [minute(b) for b in bounds]
    touched = [k for k in range(len(edges) - 1) if start < edges[k + 1] and max(finish, start + 1) > edges[k]]
    if not touched:
        return {}
    if len(touched) == 1 and start >= edges[0] and finish <= edges[-1]:
        return {touched[0]: row.hours}
    whole = open_minutes(opening, start, finish)
    found = {}
    for k in touched:
        part = open_minutes(opening, max(start, edges[k]), min(finish, edges[k + 1]))
        share = part / whole if whole else 1 / len(touched)
        if share:
            found[k] = row.hours * share
    return found


def halves(hours: float) -> float:
    """Hours as they are shown on sheets, to the half: they are plus or minus a third anyway."""
    return round(hours * 2) / 2


def this_and_next(today: date) -> tuple[date, date]:
    """The Mondays of this week and the next."""
    monday = monday_of(today)
    return monday, monday + WEEK
