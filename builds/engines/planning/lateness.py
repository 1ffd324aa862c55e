"""How late a plan hands its vans over, and what one plan does that another does not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from .calendar import MINUTES_A_DAY, midnight, minutes_a_day, open_minutes
from .plan import Lateness, Plan
from .problem import Problem


def lateness(problem: Problem, plan: Plan) -> Lateness:
    """How many opening days each van is handed over after the day promised, and the weighed sum.

    A van without a promise or without a handover (work that can't be planned) has no entry.
    """
    a_day = minutes_a_day(problem.opening) or 1.0
    days: dict[str, float] = {}
    for van in problem.vans:
        handover = plan.handovers.get(van.id)
        if van.promised is None or handover is None:
            continue
        due = midnight(van.promised + timedelta(days=1), problem.opening.zone)
        days[van.id] = open_minutes(problem.opening, due, handover) / a_day
    return Lateness(
        days_by_van=days,
        weighted_days=sum(v.weight * days.get(v.id, 0.0) for v in problem.vans),
        promised={v.id: v.promised for v in problem.vans},
    )


@dataclass(frozen=True, slots=True)
class Moved:
    """A task in both plans that starts a day (24 h) or more earlier or later; instants."""

    task: str
    before: int
    after: int


@dataclass(frozen=True, slots=True)
class Difference:
    """What `after` does that `before` did not.

    `handovers` are (before, after) of the vans whose handover changes; `hands` the crews (before,
    after) of tasks that change hands; `now_unplanned` and `now_planned` task ids. `tasks` counts
    those in both.
    """

    tasks: int
    handovers: dict[str, tuple[int | None, int | None]]
    moved: tuple[Moved, ...]
    hands: dict[str, tuple[tuple[str, ...], tuple[str, ...]]]
    now_unplanned: tuple[str, ...]
    now_planned: tuple[str, ...]


def difference(before: Plan, after: Plan) -> Difference:
    """Compare two plans of the same shop."""
    old = {p.task: p for p in before.planned}
    new = {p.task: p for p in after.planned}
    both = [i for i in old if i in new]
    return Difference(
        tasks=len(both),
        handovers={
            van: (was, after.handovers.get(van))
            for van, was in before.handovers.items()
            if was != after.handovers.get(van)
        },
        moved=tuple(
            Moved(i, old[i].start, new[i].start)
            for i in both
            if abs(old[i].start - new[i].start) >= MINUTES_A_DAY
        ),
        hands={
            i: (old[i].fitters, new[i].fitters) for i in both if set(old[i].fitters) != set(new[i].fitters)
        },
        now_unplanned=tuple(i for i in old if i not in new),
        now_planned=tuple(i for i in new if i not in old),
    )
