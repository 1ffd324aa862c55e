"""What dates the shop would give if it planned on as work takes longer or shorter: overtaking allowed.

`simulate` holds the order so hard that a visitor missed by an hour holds up every van behind. Here each
run decodes the stored order and crews with drawn lengths, so that whoever can go on does: slower, fewer
runs, and nearer to what a shop does.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from copy import copy
from dataclasses import replace

import numpy as np

from .decode import AxisTooShort, Decoding
from .plan import Plan
from .planner import crews_of, jobs_to_place, wanted_crews
from .prepare import Prepared, longer, prepare
from .problem import Problem
from .rules import in_link_order
from .simulate import Dates, Floats, draw

SAMPLES = 200


def rehearse(
    problem: Problem,
    plan: Plan,
    *,
    seed: int,
    runs: int = SAMPLES,
    hours: Mapping[str, tuple[float, float, float]] | None = None,
    crews: Mapping[str, Sequence[str]] | None = None,
    should_stop: Callable[[], bool] | None = None,
) -> Dates | None:
    """The handovers of `runs` runs, each planned by the fast planner with lengths drawn for that run.

    Shapes, units and left-out vans as in `simulate`. Work that must finish in a day takes no longer than
    planned, since people stay on. A tenth of a percent of runs at either end is not to be relied on.
    `crews` are held to their work, all other work goes to whoever is free first; None holds all crews of
    the plan. None comes back where `should_stop`, asked before each run, said so.
    """
    prepared = longer(prepare(problem))
    rng = np.random.default_rng(seed)
    spread = hours or {}
    lengths = [draw(rng, t, spread.get(t.id), runs) for t in problem.tasks]
    wanted = wanted_crews(prepared, crews_of(plan) if crews is None else crews)
    todo = set(jobs_to_place(prepared))
    stored = [prepared.numbers[i] for i in plan.order if prepared.numbers.get(i) in todo]
    order = in_link_order(prepared, stored)
    ends = []
    for k in range(runs):
        if should_stop is not None and should_stop():
            return None
        ends.append(_ends(prepared, lengths, k, order, wanted))
    known = [v for v in problem.vans if plan.handovers.get(v.id) is not None]
    number = prepared.van_numbers
    return Dates({v.id: np.sort(np.array([e[number[v.id]] for e in ends], dtype=np.int64)) for v in known})


def _ends(
    prepared: Prepared,
    lengths: list[Floats],
    run: int,
    order: list[int],
    wanted: dict[int, tuple[int, ...]],
) -> list[int]:
    """When each van's last work ends in one run, as instants."""
    step = prepared.axis.step
    jobs = []
    for job, drawn in zip(prepared.jobs, lengths, strict=True):
        slots = max(1, round(float(drawn[run]) / step))
        jobs.append(replace(job, slots=min(slots, job.slots) if job.same_day else slots))
    played = copy(prepared)
    played.jobs = jobs
    decoding = Decoding(played, wanted)
    try:
        decoding.run(order)
        decoding.end()
    except AxisTooShort:
        return _ends(longer(prepared), lengths, run, order, wanted)
    return [prepared.axis.end(end) if end else prepared.problem.now for end in decoding.van_end]
