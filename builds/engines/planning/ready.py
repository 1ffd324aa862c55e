"""When one more van could be ready: planned behind all the others, none of which moves for it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from .calendar import day_at, midnight
from .plan import Plan, Unplanned
from .planner import crews_of, jobs_to_place, plan_of, plan_shop, run, wanted_crews
from .prepare import Prepared, prepare
from .problem import Problem
from .rules import RULES, by_keys, in_link_order, latest_starts


@dataclass(frozen=True, slots=True)
class Ready:
    """One more van in the shop. `problem` and `plan` are the shop with it.

    `arrives` is the first day its work needs it and a bay has room for as long as it stays (None: nothing
    needs the van), `begins` and `handover` the instants of its first and last work. `unplanned` lists
    what of it can't be planned; there is no handover then.
    """

    problem: Problem
    plan: Plan
    arrives: date | None
    begins: int | None
    handover: int | None
    unplanned: tuple[Unplanned, ...]


def when_ready(problem: Problem, van: str, *, earliest: date) -> Ready:
    """Plan `van`, one of the problem's, behind all others, in the shop from `earliest` on.

    The others keep their order, crews and times: each is placed before anything of this van is.
    """
    others = plan_shop(_without(problem, van))
    problem = _here_from(problem, van, earliest)
    prepared = prepare(problem)
    crews = wanted_crews(prepared, crews_of(others))
    plan = plan_of(run(prepared, _behind(prepared, others, van), crews))
    mine = {t.id: t for t in problem.tasks if t.van == van}
    placed = [p for p in plan.planned if p.task in mine]
    with_van = [p.start for p in placed if mine[p.task].needs_van]
    arrives = day_at(min(with_van), problem.opening.zone) if with_van else None
    if arrives is not None:
        problem = _here_from(problem, van, arrives)
    return Ready(
        problem=problem,
        plan=plan,
        arrives=arrives,
        begins=min((p.start for p in placed), default=None),
        handover=plan.handovers.get(van),
        unplanned=tuple(u for u in plan.unplanned if u.task in mine),
    )


def _without(problem: Problem, van: str) -> Problem:
    vans = tuple(v for v in problem.vans if v.id != van)
    return replace(problem, vans=vans, tasks=tuple(t for t in problem.tasks if t.van != van))


def _here_from(problem: Problem, van: str, day: date) -> Problem:
    here = ((midnight(day, problem.opening.zone), None),)
    return replace(problem, vans=tuple(replace(v, here=here) if v.id == van else v for v in problem.vans))


def _behind(prepared: Prepared, others: Plan, van: str) -> list[int]:
    """The order of the others, and behind it the van's jobs by a plain rule."""
    todo = jobs_to_place(prepared)
    key = latest_starts(prepared, in_link_order(prepared, range(len(prepared.jobs))), RULES[0])
    mine = by_keys(prepared, key, [n for n in todo if prepared.problem.tasks[n].van == van])
    return [prepared.numbers[i] for i in others.order if i in prepared.numbers] + mine
