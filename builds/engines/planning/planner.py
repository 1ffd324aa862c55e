"""The door of the fast planner: a problem in, the current plan out, always the same for the same input."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from .binding import Binding
from .calendar import minutes_a_day, monday_of, week_bounds
from .decode import AxisTooShort, Decoding
from .plan import Flag, Plan, Planned, Unplanned
from .prepare import Prepared, longer, prepare
from .problem import Problem
from .rules import (
    FULL_SHOP_RULE,
    LATE_BY_WEEKS,
    RULES,
    Rule,
    by_keys,
    in_link_order,
    latest_starts,
    lifted,
    with_stored,
)

BROKEN_WEEK_DAYS = 1.0
"""What a broken pin or told week weighs beside a van's late day."""

UNPLANNED_DAYS = 1000.0
"""What a task that can't be placed weighs beside it."""


@dataclass(slots=True)
class Decoded:
    """A finished decoding with the order that led to it and what it is worth (less is better)."""

    decoding: Decoding
    order: list[int]
    worth: tuple[float, float]


def plan_shop(problem: Problem, *, rules: Sequence[Rule] = RULES) -> Plan:
    """Plan the whole shop.

    With a stored order its plan is decoded, and what the order does not name is slotted in; without
    one, several plain rules are tried (`rules`) and the best is kept: first
    by lateness and kept weeks, then by early handovers. What can't be planned is listed with its
    reason, never raised.
    """
    prepared = prepare(problem)
    if problem.order:
        return plan_of(decode_stored(prepared, problem.order, problem.crews))
    return plan_of(best_of_rules(prepared, rules))


def decode(problem: Problem, order: Sequence[str], crews: Mapping[str, Sequence[str]]) -> Plan:
    """The plan that a stored order and crews stand for (see `plan_shop`)."""
    return plan_of(decode_stored(prepare(problem), order, crews))


def crews_of(plan: Plan) -> dict[str, tuple[str, ...]]:
    """The crew choices to store with the plan's order, so that both decode to it again."""
    return {p.task: p.fitters for p in plan.planned}


def best_of_rules(prepared: Prepared, rules: Sequence[Rule] = RULES) -> Decoded:
    """The best of the plain rules, decoded with free choice of crews."""
    links = in_link_order(prepared, range(len(prepared.jobs)))
    todo = jobs_to_place(prepared)
    best: Decoded | None = None
    for rule in (*rules, FULL_SHOP_RULE):
        if (
            rule is FULL_SHOP_RULE
            and best
            and late_days(best.decoding) < LATE_BY_WEEKS * len(prepared.windows)
        ):
            break
        key = latest_starts(prepared, links, rule)
        found = run(prepared, by_keys(prepared, key, todo), {})
        prepared = found.decoding.prepared
        if best is None or found.worth < best.worth:
            best = found
    assert best is not None, "a rule to try"
    return _keep_weeks(best, {})


def decode_stored(prepared: Prepared, order: Sequence[str], crews: Mapping[str, Sequence[str]]) -> Decoded:
    """Decode a stored order and crews; pinned and told work is brought forward where that keeps its week."""
    wanted = wanted_crews(prepared, crews)
    key = latest_starts(prepared, in_link_order(prepared, range(len(prepared.jobs))), RULES[0])
    stored = [prepared.numbers[i] for i in dict.fromkeys(order) if i in prepared.numbers]
    numbers = with_stored(prepared, stored, key, jobs_to_place(prepared))
    return _keep_weeks(run(prepared, numbers, wanted), wanted)


def wanted_crews(prepared: Prepared, crews: Mapping[str, Sequence[str]]) -> dict[int, tuple[int, ...]]:
    """Stored crews by job number, those that can't do their task any more left out."""
    found = {}
    for i, names in crews.items():
        number = prepared.numbers.get(i)
        if number is not None:
            crew = prepared.stored_crew(names, prepared.problem.tasks[number])
            if crew is not None:
                found[number] = crew
    return found


def jobs_to_place(prepared: Prepared) -> list[int]:
    """The jobs that an order places: not done, not under way, not known to be impossible."""
    tasks = prepared.problem.tasks
    return [
        j.number
        for j in prepared.jobs
        if j.hands is not None and not _goes_on(prepared, tasks[j.number].state, tasks[j.number].fitters)
    ]


def run(prepared: Prepared, order: list[int], wanted: dict[int, tuple[int, ...]]) -> Decoded:
    """Decode one order to its end, on a longer axis where this one does not reach."""
    while True:
        try:
            decoding = Decoding(prepared, wanted)
            decoding.run(order)
            decoding.end()
            return Decoded(decoding, order, worth(decoding))
        except AxisTooShort:
            prepared = longer(prepared)


def worth(decoding: Decoding) -> tuple[float, float]:
    """Weighed late days with broken weeks added, then the sum of handovers; less is better."""
    late = late_days(decoding) + BROKEN_WEEK_DAYS * len(broken_weeks(decoding))
    return late + UNPLANNED_DAYS * len(decoding.unplanned), float(sum(decoding.van_end))


def late_days(decoding: Decoding) -> float:
    """Weighed opening days that the vans are late."""
    prepared = decoding.prepared
    before, end = prepared.shop_before, len(prepared.axis.at)
    total = 0
    for due, weight, finish in zip(prepared.due, prepared.weights, decoding.van_end, strict=True):
        if due is not None and finish > due:
            total += weight * (before[finish] - before[min(due, end)])
    return total * prepared.axis.step / (minutes_a_day(prepared.problem.opening) or 1.0)


def broken_weeks(decoding: Decoding) -> list[tuple[int, str]]:
    """The jobs that start after the week they are pinned to or told for."""
    prepared, broken = decoding.prepared, []
    for number, code, end in week_ends(prepared):
        if decoding.start[number] >= end:
            broken.append((number, code))
    return broken


def week_ends(prepared: Prepared) -> list[tuple[int, str, int]]:
    """Jobs with a pinned or told week: (job, flag, first slot after that week)."""
    zone = prepared.problem.opening.zone
    found = []
    for job, task in zip(prepared.jobs, prepared.problem.tasks, strict=True):
        for code, week in (("pin broken", task.pin_week), ("told broken", task.told_week)):
            if week is not None and task.state == "to do":
                end = prepared.axis.slot(week_bounds(monday_of(week), zone)[1])
                found.append((job.number, code, end))
    return found


def plan_of(decoded: Decoded) -> Plan:
    """The plan of a decoding, with the reason of every start."""
    decoding = decoded.decoding
    prepared = decoding.prepared
    problem, axis = prepared.problem, prepared.axis
    binding = Binding(decoding)
    planned = []
    for job, task in zip(prepared.jobs, problem.tasks, strict=True):
        start = decoding.start[job.number]
        if start < 0:
            continue
        begins = axis.at[start]
        if task.started is not None and _goes_on(prepared, task.state, task.fitters):
            begins = min(task.started, begins)  # A clock set back would have it begin after its end.
        names = tuple(problem.fitters[k].id for k in decoding.crew[job.number])
        finish = axis.end(decoding.finish[job.number])
        planned.append(Planned(job.id, begins, finish, names, binding.reason(job)))
    planned.sort(key=lambda p: (p.start, p.finish))
    unplanned = [*prepared.unplanned.values(), *decoding.unplanned.values()]
    unplanned.sort(key=lambda u: prepared.numbers[u.task])
    return Plan(
        planned=tuple(planned),
        unplanned=tuple(unplanned),
        flags=tuple(_flags(decoding, binding)),
        handovers=_handovers(problem, planned, unplanned),
        order=tuple(prepared.jobs[n].id for n in decoded.order),
        moves=_moves(decoding),
        holds={i: at for i, at in problem.holds.items() if i in prepared.numbers},
    )


def _keep_weeks(decoded: Decoded, wanted: dict[int, tuple[int, ...]]) -> Decoded:
    """Bring pinned and told work that misses its week to the front, and keep that if it helps."""
    for _ in range(2):
        missed = {number for number, _ in broken_weeks(decoded.decoding)}
        if not missed:
            break
        prepared = decoded.decoding.prepared
        order = lifted(prepared, decoded.order, missed)
        free = {n: c for n, c in wanted.items() if n not in missed}
        again = run(prepared, order, free)
        if len(broken_weeks(again.decoding)) >= len(missed):
            break
        decoded, wanted = again, free
    return decoded


def _flags(decoding: Decoding, binding: Binding) -> list[Flag]:
    prepared = decoding.prepared
    flags = [Flag(prepared.jobs[n].id, code) for n, code in broken_weeks(decoding)]
    for job, task in zip(prepared.jobs, prepared.problem.tasks, strict=True):
        start = decoding.start[job.number]
        if start < 0 or task.state == "under way":
            continue
        for link in task.after:
            before = prepared.numbers.get(link.task)
            if link.latest is not None and before is not None:
                late = prepared.axis.at[start] > binding.finished(before) + link.latest
                if late:
                    flags.append(Flag(job.id, "window missed", link.task))
    return flags


def _handovers(
    problem: Problem, planned: Sequence[Planned], unplanned: Sequence[Unplanned]
) -> dict[str, int | None]:
    """When the last work of each van ends; None while some of it can't be planned or there is none."""
    of = {t.id: t.van for t in problem.tasks}
    ends: dict[str, int | None] = {v.id: None for v in problem.vans}
    rows = [(p.task, p.finish) for p in planned]
    rows += [(t.id, t.finished) for t in problem.tasks if t.state == "done" and t.finished is not None]
    for i, finish in rows:
        known = ends.get(of[i])
        if of[i] in ends:
            ends[of[i]] = finish if known is None else max(known, finish)
    for u in unplanned:
        if of[u.task] in ends:
            ends[of[u.task]] = None
    return ends


def _moves(decoding: Decoding) -> int:
    """How often a van changes position in the plan."""
    last: dict[int, int] = {}
    moves = 0
    jobs = [
        j for j in decoding.prepared.jobs if j.position >= 0 and j.needs_van and decoding.start[j.number] >= 0
    ]
    for job in sorted(jobs, key=lambda j: decoding.start[j.number]):
        if last.get(job.van, job.position) != job.position:
            moves += 1
        last[job.van] = job.position
    return moves


def _goes_on(prepared: Prepared, state: str, fitters: Sequence[str]) -> bool:
    return state == "under way" and any(f in prepared.fitter_numbers for f in fitters)
