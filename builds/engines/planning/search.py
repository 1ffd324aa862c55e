"""A better plan when asked: the fast planner tried again and again with vans and work moved in the order.

Each job has a key, and jobs are placed by key. A try shifts the keys of a few vans, or of one van's
work around one moment, and keeps the shift when the plan gets no worse by more than the search still
allows. Tries share the unchanged front of the order, so that only what comes behind it is decoded.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random
from time import monotonic

from .decode import AxisTooShort, Decoding
from .plan import Plan
from .planner import (
    UNPLANNED_DAYS,
    Decoded,
    decode_stored,
    jobs_to_place,
    late_days,
    plan_of,
    run,
    wanted_crews,
    worth,
)
from .prepare import Prepared, prepare
from .problem import Problem
from .rules import Rule, by_keys, in_link_order, latest_starts

SEED_RULES = tuple(
    Rule(stretch, lead)
    for lead, stretches in (
        (60.0, (2.0, 1.75, 1.5)),
        (300.0, (2.0, 1.5)),
        (700.0, (1.5, 2.0)),
        (120.0, (2.0,)),
        (450.0, (1.75, 2.25)),
        (200.0, (2.0, 1.75)),
        (30.0, (2.0, 1.75, 1.5)),
        (60.0, (2.25, 2.5)),
        (300.0, (1.75, 2.25)),
        (0.0, (2.0, 1.75, 1.5)),
    )
    for stretch in stretches
)
"""Rules tried before the search proper, which starts from the best of them.

Where many vans are late a weight has to count for weeks, so that a light van waits for a heavy one.
"""

CHECKPOINTS = 24
"""How many places in an order a try can start from."""

SEED_SHARE = 0.1
"""The first share of the time, for the rules."""

LAST_SHARE = 0.15
"""The last share of the time, in which the search no longer takes a step back."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How a search stands: seconds spent, tries made, and what the best plan stands for.

    `late_days` are its weighted late days with a day for every broken week; `order` and `crews` decode
    to it.
    """

    seconds: float
    tries: int
    late_days: float
    order: tuple[str, ...] = ()
    crews: dict[str, tuple[str, ...]] = field(default_factory=dict)


Report = Callable[[Progress], None]
Stop = Callable[[], bool]


def improve(
    problem: Problem,
    plan: Plan,
    *,
    seconds: float,
    seed: int,
    on_progress: Report | None = None,
    should_stop: Stop | None = None,
    clock: Callable[[], float] = monotonic,
) -> Plan:
    """Search the whole shop for a plan that is less late, for at most `seconds`.

    Comes back with the best plan found, and with `plan` itself when none is better; it can be stopped
    at any moment through `should_stop`. The same seed tries the same things in the same order; how many
    fit into the time depends on the machine. `clock` is a stopwatch, in seconds.
    """
    watch = Watch(seconds, on_progress, should_stop, clock)
    prepared = prepare(problem)
    start = decode_stored(prepared, plan.order, {p.task: p.fitters for p in plan.planned})
    best = OrderSearch(start, watch, Random(seed)).best()
    return plan_of(best) if best.worth < start.worth else plan


def told_crews(prepared: Prepared) -> dict[int, tuple[int, ...]]:
    """The crews that were told, by job number: a search leaves them their work."""
    problem = prepared.problem
    told = {t.id for t in problem.tasks if t.told_week is not None}
    return wanted_crews(prepared, {i: crew for i, crew in problem.crews.items() if i in told})


class Watch:
    """The time a search has, and who wants to know how it goes."""

    def __init__(
        self, seconds: float, report: Report | None, stop: Stop | None, clock: Callable[[], float]
    ) -> None:
        self._seconds, self._report, self._stop, self._clock = seconds, report, stop, clock
        self._since = clock()
        self.tries = 0

    def is_over(self) -> bool:
        """Whether the time is up or somebody stopped the search."""
        return self.spent() >= 1.0 or (self._stop is not None and self._stop())

    def spent(self) -> float:
        """The share of the time that is gone."""
        return (self._clock() - self._since) / max(self._seconds, 1e-9)

    def tell(self, best: Decoded) -> None:
        """Report a better plan."""
        if self._report:
            decoding, prepared = best.decoding, best.decoding.prepared
            fitters, jobs = prepared.problem.fitters, prepared.jobs
            late = best.worth[0] - UNPLANNED_DAYS * len(decoding.unplanned)
            order = tuple(jobs[n].id for n in best.order)
            crews = {jobs[n].id: tuple(fitters[k].id for k in decoding.crew[n]) for n in best.order}
            self._report(Progress(self._clock() - self._since, self.tries, late, order, crews))


class OrderSearch:
    """A search over the keys of jobs, from the best plain rule or from the plan at hand."""

    def __init__(self, start: Decoded, watch: Watch, random: Random) -> None:
        self._watch, self._random = watch, random
        self._start = start
        self._prepared = start.decoding.prepared
        self._wanted = told_crews(self._prepared)
        self._todo = jobs_to_place(self._prepared)

    def best(self) -> Decoded:
        """Search until the time is up; the best plan met, the given one included."""
        best, key = self._seeds()
        if not self._todo:
            return best
        trail = Trail(self._prepared, by_keys(self._prepared, key, self._todo), self._wanted)
        now = worth(trail.decoding)
        heat = self._heat(now[0])
        while not self._watch.is_over():
            self._watch.tries += 1
            cold = max(0.0, 1.0 - self._watch.spent() / (1.0 - LAST_SHARE)) ** 2
            new_key = self._shifted(key)
            order = by_keys(self._prepared, new_key, self._todo)
            allowed = now[0] + heat * cold * self._random.expovariate(1.0)
            new = trail.tried(order, allowed)
            if new is None:
                continue
            found = worth(new.decoding)
            if found <= now or found[0] < allowed:
                key, trail, now = new_key, new, found
                if found < best.worth:
                    is_less_late = found[0] < best.worth[0]
                    best = Decoded(new.decoding, order, found)
                    if is_less_late:
                        self._watch.tell(best)
        return best

    def _seeds(self) -> tuple[Decoded, list[float]]:
        """The plan at hand and the rules: the best of all, and keys to start from."""
        best = self._start
        key = [float(s) for s in self._start.decoding.start]
        links = in_link_order(self._prepared, range(len(self._prepared.jobs)))
        least: Decoded | None = None
        for rule in SEED_RULES:
            if (self._watch.spent() > SEED_SHARE and least is not None) or self._watch.is_over():
                break
            tried = latest_starts(self._prepared, links, rule)
            found = run(self._prepared, by_keys(self._prepared, tried, self._todo), self._wanted)
            self._prepared = found.decoding.prepared
            if least is None or found.worth < least.worth:
                least, key = found, tried
            if found.worth < best.worth:
                best = found
                self._watch.tell(found)
        again = run(self._prepared, self._start.order, self._wanted)
        if least is None or again.worth < least.worth:
            key = [float(s) for s in again.decoding.start]
        return best, key

    def _heat(self, late: float) -> float:
        return 0.15 + 0.002 * late

    def _shifted(self, key: list[float]) -> list[float]:
        """Keys with a few vans, or one van's work around a moment, moved earlier or later."""
        random, jobs = self._random, self._prepared.jobs
        new = list(key)
        vans = range(len(self._prepared.windows))
        if random.random() < 0.6:
            moved = random.sample(vans, min(len(vans), random.choice((1, 1, 2, 2, 3))))
            shifts = [random.gauss(0, random.choice((80, 80, 300))) for _ in moved]
            if len(moved) == 2:
                shifts[1] = -shifts[0]
            by_van = dict(zip(moved, shifts, strict=True))
            for number in self._todo:
                new[number] += by_van.get(jobs[number].van, 0.0)
            return new
        middle = random.choice(self._todo)
        width, shift = random.choice((30, 100, 300)), random.gauss(0, 80)
        for number in self._todo:
            if jobs[number].van == jobs[middle].van and abs(key[number] - key[middle]) < width:
                new[number] += shift
        return new


class Trail:
    """A decoded order with checkpoints, so that a like order need not be decoded from its beginning."""

    def __init__(
        self,
        prepared: Prepared,
        order: list[int],
        wanted: dict[int, tuple[int, ...]],
        checkpoints: list[Decoding] | None = None,
    ) -> None:
        self.order = order
        self._prepared, self._wanted = prepared, wanted
        self._step = max(1, len(order) // CHECKPOINTS)
        self._points = checkpoints or [Decoding(prepared, wanted)]
        self.decoding = self._points[-1]
        if checkpoints is None:
            finished = self._go_on(float("inf"))
            assert finished, "no limit to stop at"

    def tried(self, order: list[int], allowed: float) -> Trail | None:
        """The trail of another order; None as soon as it is later than `allowed` late days."""
        same = 0
        for one, other in zip(self.order, order, strict=True):
            if one != other:
                break
            same += 1
        points = self._points[: max(1, min(same // self._step, len(self._points) - 1) + 1)]
        new = Trail(self._prepared, order, self._wanted, points)
        try:
            return new if new._go_on(allowed) else None
        except AxisTooShort:
            return None

    def _go_on(self, allowed: float) -> bool:
        at = (len(self._points) - 1) * self._step
        decoding = self._points[-1].copy()
        while at < len(self.order):
            decoding.run(self.order[at : at + self._step])
            at += self._step
            if late_days(decoding) > allowed:
                return False
            self._points.append(decoding.copy())
        decoding.end()
        self.decoding = decoding
        return late_days(decoding) <= allowed
