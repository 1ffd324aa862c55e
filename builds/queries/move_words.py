"""What moving work does to everything else, in words: two plans held against each other."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

from builds.engines.planning.lateness import Difference, Moved, difference
from builds.engines.planning.plan import Plan
from builds.engines.planning.problem import Problem
from builds.models import Build, Shop
from builds.queries.capacity import HoursOfTrade, halves, week_hours
from builds.queries.fitters import people_at_work
from builds.queries.opening import OpeningTimes, instant
from builds.queries.planned_work import Work, agreed_tasks, read_work
from builds.templatetags.words import calendar_week
from builds.templatetags.words import day as day_words
from builds.templatetags.words import hours as hours_words

MOST_NAMED = 3
MOST_WEEKS = 3
LOST = {
    "pin broken": "can’t keep the week it is pinned to any more",
    "told broken": "leaves the week the crew was told",
    "window missed": "starts later than it should after what comes before it",
}


@dataclass(frozen=True)
class Move:
    """A move as the planner sees it: the shop before, its plans before and after, the weeks pinned."""

    problem: Problem
    before: Plan
    after: Plan
    targets: Mapping[int, date]


def lines_of_move(move: Move, *, times: OpeningTimes, now: datetime) -> tuple[str, ...]:
    """Handovers that change, tasks pushed, weeks not kept, hours needed and there; one line each.

    Ten queries.
    """
    told = difference(move.before, move.after)
    work = {w.pk: w for w in read_work(agreed_tasks().exclude(state="done"), reasons=False)}
    vans = dict(Build.objects.to_plan().values_list("pk", "name"))
    return (
        *_handovers(told, vans, times),
        *_others(told, move, work, vans, times),
        *_hands(told, move),
        *_not_kept(move, work),
        *_unplanned(told),
        *_hours(move, work, times, now),
    )


def tasks_words(count: int) -> str:
    return "1 task" if count == 1 else f"{count} tasks"


def _handovers(told: Difference, vans: Mapping[int, str], times: OpeningTimes) -> list[str]:
    lines = []
    for van, ends in told.handovers.items():
        old, new = (times.day_of(instant(at)) if at is not None else None for at in ends)
        if old != new:
            before, after = (day_words(d) or "on no day yet" for d in (old, new))
            lines.append(f"{vans.get(int(van), 'A van')} is handed over {after}, not {before}.")
    return lines or ["No handover changes."]


def _others(
    told: Difference, move: Move, work: Mapping[int, Work], vans: Mapping[int, str], times: OpeningTimes
) -> Iterator[str]:
    """What else starts a day or more later or earlier, the first few by name."""
    others = [m for m in told.moved if int(m.task) not in move.targets]
    for rows, way in (
        ([m for m in others if m.after > m.before], "later"),
        ([m for m in others if m.after < m.before], "earlier"),
    ):
        if rows:
            starts = "starts" if len(rows) == 1 else "start"
            named = "; ".join(_moved(m, work, vans, times) for m in rows[:MOST_NAMED])
            more = "; and more" if len(rows) > MOST_NAMED else ""
            yield f"{tasks_words(len(rows))} besides {starts} a day or more {way}: {named}{more}."


def _moved(moved: Moved, work: Mapping[int, Work], vans: Mapping[int, str], times: OpeningTimes) -> str:
    row = work.get(int(moved.task))
    name = f"{vans.get(row.build, '')}’s “{row.name}”" if row else "some work"
    return f"{name} on {day_words(times.day_of(instant(moved.after)))}"


def _hands(told: Difference, move: Move) -> Iterator[str]:
    count = sum(int(task) not in move.targets for task in told.hands)
    if count:
        yield f"{tasks_words(count)} {'changes' if count == 1 else 'change'} hands."


def _not_kept(move: Move, work: Mapping[int, Work]) -> Iterator[str]:
    """Weeks and windows that no longer hold: of what moves, then of everything else."""
    missed = [pk for pk in move.targets if _has(move.after, pk, "pin broken")]
    if missed:
        yield (
            f"{tasks_words(len(missed))} of it won’t fit into that week by hours or places; "
            "it is planned as early as it can after."
        )
    told = [pk for pk, monday in move.targets.items() if pk in work and work[pk].told not in (None, monday)]
    if told:
        yield f"The crew was told another week for {tasks_words(len(told))} of it: tell them anew."
    known = {(f.task, f.code) for f in move.before.flags}
    for code, words in LOST.items():
        new = {f.task for f in move.after.flags if f.code == code and (f.task, code) not in known}
        names = [f"“{work[int(t)].name}”" for t in sorted(new, key=int) if _is_other(int(t), move, work)]
        for name in names[:MOST_NAMED]:
            yield f"{name} {words}."


def _is_other(pk: int, move: Move, work: Mapping[int, Work]) -> bool:
    return pk not in move.targets and pk in work


def _has(plan: Plan, pk: int, code: str) -> bool:
    return any(f.task == str(pk) and f.code == code for f in plan.flags)


def _unplanned(told: Difference) -> Iterator[str]:
    if told.now_unplanned:
        yield f"{tasks_words(len(told.now_unplanned))} can’t be planned any more."


def _hours(move: Move, work: Mapping[int, Work], times: OpeningTimes, now: datetime) -> Iterator[str]:
    """Hours needed and there in the weeks that the work goes to, for its trades and for all hands."""
    rows = list(_after(move, work))
    trades = {w.trade: w.trade_name for pk, w in work.items() if pk in move.targets}
    people = people_at_work(times, times.day_of(now))
    share = float(Shop.objects.values_list("plannable_share", flat=True).get(pk=1))
    for monday in sorted(set(move.targets.values()))[:MOST_WEEKS]:
        counted = week_hours(
            monday, now=now, times=times, plannable_share=share, people=people, rows=rows, trades=list(trades)
        )
        told = [f"{name.lower()} {_of(counted.trade(key))}" for key, name in trades.items()]
        yield f"Week {calendar_week(monday)} then needs: {', '.join(told)}; all hands {_of(counted.hands)}."


def _after(move: Move, work: Mapping[int, Work]) -> Iterable[Work]:
    """The unfinished work as the plan after the move has it."""
    planned = {int(p.task): p for p in move.after.planned}
    for pk, row in work.items():
        at = planned.get(pk)
        if at is not None:
            yield replace(
                row,
                start=instant(at.start),
                finish=instant(at.finish),
                fitters=tuple(int(f) for f in at.fitters),
                pin=move.targets.get(pk, row.pin),
            )


def _of(hours: HoursOfTrade) -> str:
    over = f", {hours_words(halves(hours.over))} over" if hours.over >= 1 else ""
    return f"{hours_words(halves(hours.needed))} of {hours_words(halves(hours.there))}{over}"
