"""A plan made anew that keeps what it can of the plan that was told: the crews first, then the days.

Work stays with the crew that was told unless another is done clearly sooner. Vans' work is then moved
towards the days that were told, try by try; what a try disturbs counts beside what is late.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from random import Random
from time import monotonic

from .decode import AxisTooShort, Decoding
from .plan import Plan
from .planner import Decoded, best_of_rules, jobs_to_place, plan_of, wanted_crews, worth
from .prepare import Job, Prepared, longer, prepare
from .problem import Problem
from .rules import RULES, by_keys, in_link_order, latest_starts
from .search import Report, Stop, Watch

Told = Mapping[str, tuple[int, tuple[str, ...]]]
"""What was told: start instant and crew by task."""

A_DAY = 1440
GAINS = (0, 4, 8, 16)
"""How many slots sooner another crew must be done to take a task from the crew that was told."""

DISTURBED_DAYS = 15.0
"""What moving every task, or changing every crew, weighs beside weighted late days."""


@dataclass(frozen=True, slots=True)
class Disturbance:
    """What a plan disturbs: the shares of told tasks that start a day (24 h) or more off, or change hands."""

    tasks: int
    moved: float
    hands: float


def keep_told(
    problem: Problem,
    told: Told,
    *,
    seconds: float,
    seed: int,
    on_progress: Report | None = None,
    should_stop: Stop | None = None,
    clock: Callable[[], float] = monotonic,
) -> Plan:
    """Plan the shop for at most `seconds` so that few of the told days and crews change.

    `told` names tasks of the problem; ones it does not know are passed over. Lateness (weighted days)
    and what is disturbed are weighed together, so a promise may slip a little for many crews kept. The
    same seed tries the same things in the same order.
    """
    watch = Watch(seconds, on_progress, should_stop, clock)
    return plan_of(_Keeper(problem, told, watch, Random(seed)).best())


def disturbance(told: Told, plan: Plan) -> Disturbance:
    """How much of what was told a plan disturbs; shares are of the tasks in both."""
    both = [p for p in plan.planned if p.task in told]
    count = max(1, len(both))
    moved = sum(abs(p.start - told[p.task][0]) >= A_DAY for p in both)
    hands = sum(set(p.fitters) != set(told[p.task][1]) for p in both)
    return Disturbance(len(both), moved / count, hands / count)


class Sticky(Decoding):
    """A decoding in which a crew keeps its task unless another is done more than `gain` slots sooner."""

    __slots__ = ("gain",)

    def __init__(self, prepared: Prepared, wanted: Mapping[int, tuple[int, ...]], gain: int) -> None:
        self.gain = gain
        super().__init__(prepared, wanted)

    def _choose(self, job: Job, blocked: int, first: int) -> tuple[int, int, tuple[int, ...]] | None:
        people = self.wanted.get(job.number)
        best = self._best(job, blocked, first)
        if people is None or (best and best[2] == people):
            return best
        taken = blocked
        for k in people:
            taken |= self.busy[k]
        kept = self._fit(job, self.prepared.crew(people), taken, first)
        if kept and (best is None or kept[1] <= best[1] + self.gain):
            return (*kept, people)
        return best


class _Keeper:
    """The tries: keys of jobs and how firmly crews hold, from the plain rules towards what was told."""

    def __init__(self, problem: Problem, told: Told, watch: Watch, random: Random) -> None:
        self._watch, self._random = watch, random
        plain = best_of_rules(prepare(problem))
        self._plain = plain
        self._set(plain.decoding.prepared, told)

    def _set(self, prepared: Prepared, told: Told) -> None:
        self._prepared, self._told = prepared, told
        self._hands = wanted_crews(prepared, {i: c for i, (_, c) in told.items()})
        known = {prepared.numbers[i]: at for i, (at, _) in told.items() if i in prepared.numbers}
        self._todo = jobs_to_place(prepared)
        self._starts = {n: known[n] for n in self._todo if n in known}
        self._slots = {n: prepared.axis.slot(at) for n, at in self._starts.items()}

    def best(self) -> Decoded:
        """The plan that is worth most of those tried in the time."""
        best, least = self._plain, self._cost(self._plain.decoding)
        key = self._keys(self._plain.order)
        gain = GAINS[0]
        for k, order in self._first_orders():
            for g in GAINS:
                found = self._decoded(order, g)
                cost = self._cost(found.decoding) if found else float("inf")
                if found and cost < least:
                    best, least, key, gain = found, cost, k, g
                if self._watch.is_over():
                    return best
        while not self._watch.is_over():
            self._watch.tries += 1
            new, g = self._changed(key), self._random.choice((gain, gain, *GAINS))
            found = self._decoded(by_keys(self._prepared, new, self._todo), g)
            if not found:
                continue
            cost = self._cost(found.decoding)
            if cost <= least:
                if cost < least:
                    self._watch.tell(found)
                best, least, key, gain = found, cost, new, g
        return best

    def _first_orders(self) -> list[tuple[list[float], list[int]]]:
        """The rule that won, and all of them."""
        links = in_link_order(self._prepared, range(len(self._prepared.jobs)))
        orders = [(self._keys(self._plain.order), self._plain.order)]
        for rule in RULES:
            key = latest_starts(self._prepared, links, rule)
            orders.append((key, by_keys(self._prepared, key, self._todo)))
        return orders

    def _keys(self, order: Sequence[int]) -> list[float]:
        """Keys that give an order: the slots at which the plain plan starts its jobs, kept rising."""
        start = self._plain.decoding.start
        key, highest = [float(s) for s in start], 0.0
        for n in order:
            highest = max(highest + 1e-6, float(start[n]))
            key[n] = highest
        return key

    def _changed(self, key: list[float]) -> list[float]:
        """Keys with some vans' work, all or around a moment, drawn towards the days told or shifted."""
        random, jobs = self._random, self._prepared.jobs
        vans = random.sample(range(len(self._prepared.windows)), k=1)
        middle = key[random.choice(self._todo)]
        width = random.choice((60.0, 200.0, 1e9))
        shift, share = random.gauss(0, 40), random.choice((0.0, 0.5, 1.0))
        new = list(key)
        for n in self._todo:
            if jobs[n].van in vans and abs(key[n] - middle) < width:
                new[n] += shift if share == 0.0 else share * (self._slots.get(n, key[n]) - key[n])
        return new

    def _decoded(self, order: list[int], gain: int) -> Decoded | None:
        decoding = Sticky(self._prepared, self._hands, gain)
        try:
            decoding.run(order)
            decoding.end()
        except AxisTooShort:
            self._set(longer(self._prepared), self._told)
            return None
        return Decoded(decoding, order, worth(decoding))

    def _cost(self, decoding: Decoding) -> float:
        at, count = self._prepared.axis.at, max(1, len(self._starts))
        moved = hands = 0
        for n, told in self._starts.items():
            start = decoding.start[n]
            moved += start < 0 or abs(at[start] - told) >= A_DAY
            hands += n in self._hands and set(decoding.crew[n]) != set(self._hands[n])
        return worth(decoding)[0] + DISTURBED_DAYS * (moved + hands) / count + 1e-7 * sum(decoding.van_end)
