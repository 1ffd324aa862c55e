"""What dates the current order gives when work takes longer or shorter than planned.

The order is held: who does what, after what and where stays as planned (see `arcs`); only the lengths
differ from run to run. Every run is one entry of an array, so a job costs the same for all of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from .arcs import Played, arcs_of
from .calendar import midnight
from .plan import Plan
from .prepare import Prepared, longer, prepare
from .problem import Problem, Task

Floats = NDArray[np.float64]

SPREAD = (0.8, 1.0, 1.5)
"""Low, likely and high hours as shares of those planned, where a task has none of its own. Common
practice, no source: conversions overrun more than they come in early."""


STAY_ON_MINUTES = 30
"""How long a crew stays on to finish. Common practice, no source; without it a minute too long would
cost a night, or a week where a visitor leaves."""


@dataclass(frozen=True, slots=True)
class Dates:
    """By van, the handover instants of all runs, in order from early to late."""

    by_van: dict[str, NDArray[np.int64]]

    def kept_in(self, van: str, share: float) -> int | None:
        """The handover instant that `share` of the runs keep (0.8: 80 of 100); None where none is planned."""
        runs = self.by_van.get(van)
        if runs is None or not len(runs):
            return None
        return int(runs[min(len(runs) - 1, int(np.ceil(share * len(runs))) - 1)])

    def chance(self, van: str, day: date, zone: str | None) -> float | None:
        """The share of runs that hand the van over by the end of a day."""
        runs = self.by_van.get(van)
        if runs is None or not len(runs):
            return None
        end = midnight(day + timedelta(days=1), zone)
        return float(np.searchsorted(runs, end, side="right")) / len(runs)


def simulate(
    problem: Problem,
    plan: Plan,
    *,
    seed: int,
    runs: int = 10_000,
    hours: Mapping[str, tuple[float, float, float]] | None = None,
    lengths: Mapping[str, Floats] | None = None,
    stay_on: int = STAY_ON_MINUTES,
) -> Dates:
    """Play the plan through `runs` times with lengths drawn between low and high.

    `hours` gives (low, likely, high) working minutes by task for its whole length (triangular), and what
    is left of a task under way is scaled alike; `lengths` gives the drawn minutes themselves where a
    caller has them. What lacks at most `stay_on` minutes at closing is finished that day. The same
    seed gives the same dates. Vans with work that can't be planned are left out.
    """
    prepared = prepare(problem)
    rng = np.random.default_rng(seed)
    spread, known_lengths = hours or {}, lengths or {}
    drawn = {}
    for p in plan.planned:
        task = problem.tasks[prepared.numbers[p.task]]
        given = known_lengths.get(p.task)
        drawn[p.task] = given if given is not None else draw(rng, task, spread.get(p.task), runs)
    while True:
        played = arcs_of(prepared, plan)
        try:
            ends = _Run(prepared, played, drawn, runs, stay_on).play()
            break
        except _PastTheAxis:
            if prepared.at_the_end:
                raise
            prepared = longer(prepared)
    known = {v for v, at in plan.handovers.items() if at is not None}
    return Dates({v: np.sort(at) for v, at in ends.items() if v in known})


class _PastTheAxis(Exception):
    pass


class _Run:
    """All runs at once. Time is a slot number with a fraction, one array entry a run."""

    def __init__(
        self, prepared: Prepared, played: Played, drawn: Mapping[str, Floats], runs: int, stay_on: int
    ) -> None:
        self._stay_on = stay_on / prepared.axis.step
        self._prepared, self._played, self._drawn, self._runs = prepared, played, drawn, runs
        axis = prepared.axis
        self._step = axis.step
        self._at = np.array([*axis.at, axis.at[-1] + axis.step], dtype=np.float64)
        self._day = np.array([*axis.day, axis.day[-1] + 1])
        self._next_day = np.array([*prepared.day_starts, len(axis.at)])
        self._crews: dict[tuple[int, ...], tuple[Floats, Floats, Floats]] = {}
        self._finish: dict[int, Floats] = {}
        self._bay_end: dict[int, Floats] = {}

    def play(self) -> dict[str, NDArray[np.int64]]:
        """By van, when its last job ends in each run."""
        problem = self._prepared.problem
        ends: dict[str, Floats] = {}
        for number in self._played.order:
            finish = self._finish[number] = self._one(number)
            job = self._prepared.jobs[number]
            if job.bay:
                known = self._bay_end.get(job.van)
                self._bay_end[job.van] = finish if known is None else np.maximum(known, finish)
            if job.van >= 0:
                van = problem.vans[job.van].id
                ends[van] = np.maximum(ends[van], finish) if van in ends else finish
        return {van: np.round(self._clock(at)).astype(np.int64) for van, at in ends.items()}

    def _one(self, number: int) -> Floats:
        job, prepared = self._prepared.jobs[number], self._prepared
        ready = np.full(self._runs, float(self._early(number)))
        for arc in self._played.arcs[number]:
            before = self._finish[arc.before]
            if arc.slots:
                before = before + arc.slots
            np.maximum(ready, self._after(before, arc.wait) if arc.wait else before, out=ready)
        bay = self._played.bay_before.get(job.van) if job.bay else None
        if bay is not None and bay in self._bay_end:
            np.maximum(ready, self._bay_end[bay], out=ready)
        worked, slots, mornings = self._crew(self._played.crews[number])
        length = self._drawn[job.id] / self._step
        finish = self._worked_on(ready, length, worked, slots, mornings)
        if job.same_day:
            finish = self._within_a_day(ready, finish, length, worked, slots, mornings)
        if finish.max() >= len(prepared.axis.at):
            raise _PastTheAxis
        return finish

    def _early(self, number: int) -> int:
        """The first slot by dates: the job's own, its van's stay and work done before."""
        prepared, job = self._prepared, self._prepared.jobs[number]
        tasks = prepared.problem.tasks
        early = job.early
        if tasks[number].state == "under way":
            return 0
        for before, wait in job.after:
            if tasks[before].state == "done":
                ended = tasks[before].finished
                early = max(
                    early, prepared.axis.slot((prepared.problem.now if ended is None else ended) + wait)
                )
        if job.needs_van:
            stays = [since for since, until in prepared.windows[job.van] if until > early]
            early = max(early, stays[0]) if stays else early
        return early

    def _clock(self, slots: Floats) -> Floats:
        """Instants of slot numbers; a whole number is the end of the slot before it."""
        whole = np.ceil(slots).astype(np.int64) - 1
        return self._at[np.maximum(whole, 0)] + (slots - whole) * self._step

    def _after(self, slots: Floats, wait: int) -> Floats:
        """The slot numbers `wait` clock minutes later."""
        then = self._clock(slots) + wait
        whole = np.searchsorted(self._at, then, side="right") - 1
        within = (then - self._at[whole]) / self._step
        return np.asarray(whole + np.minimum(within, 1.0), dtype=np.float64)

    def _crew(self, people: tuple[int, ...]) -> tuple[Floats, Floats, Floats]:
        """For a crew: slots worked before each slot, the slots worked, and how many came before its day."""
        if people not in self._crews:
            slots = self._prepared.crew(people).slots
            marks = np.zeros(len(self._at) + 1)
            marks[np.array(slots, dtype=np.int64) + 1] = 1
            worked = np.array([*slots, len(self._at) - 1], dtype=np.int64)
            days = self._day[worked]
            mornings = np.searchsorted(days, days).astype(np.float64)
            self._crews[people] = (np.cumsum(marks), worked.astype(np.float64), mornings)
        return self._crews[people]

    def _worked_on(
        self, ready: Floats, length: Floats, worked: Floats, slots: Floats, mornings: Floats
    ) -> Floats:
        """When `length` slots of the crew's time are over, counted from `ready`."""
        if ready.max() >= len(self._prepared.axis.at):
            raise _PastTheAxis
        whole = ready.astype(np.int64)
        share = worked[whole + 1] - worked[whole]
        done = worked[whole] + share * (ready - whole) + length
        last = np.ceil(done).astype(np.int64) - 1
        if last.max() >= len(slots) - 1:
            raise _PastTheAxis
        if self._stay_on:
            morning = mornings[last]
            late = (done - morning <= self._stay_on) & (morning > worked[whole])
            done = np.where(late, morning, done)
            last = np.where(late, morning - 1, last).astype(np.int64)
        return np.asarray(slots[last] + (done - last), dtype=np.float64)

    def _within_a_day(
        self,
        ready: Floats,
        finish: Floats,
        length: Floats,
        worked: Floats,
        slots: Floats,
        mornings: Floats,
    ) -> Floats:
        """Put off to the next morning what would run overnight; what is longer than a day then does."""
        whole = ready.astype(np.int64)
        begins = slots[np.minimum(worked[whole].astype(np.int64), len(slots) - 1)]
        begins = np.maximum(begins, ready).astype(np.int64)
        over = self._day[begins] != self._day[np.ceil(finish).astype(np.int64) - 1]
        if not over.any():
            return finish
        morning = np.where(over, self._next_day[begins].astype(np.float64), ready)
        if morning.max() >= len(self._day) - 1:
            raise _PastTheAxis
        return np.where(over, self._worked_on(morning, length, worked, slots, mornings), finish)


def draw(rng: np.random.Generator, task: Task, hours: tuple[float, float, float] | None, runs: int) -> Floats:
    """Working minutes by run: triangular between low and high, most often near likely.

    `hours` is (low, likely, high) for the whole task; what is left of it is scaled alike.
    """
    low, likely, high = hours or tuple(share * task.minutes for share in SPREAD)
    left = task.left / task.minutes if task.left is not None and task.minutes else 1.0
    if high <= low:
        return np.full(runs, max(likely * left, 1.0))
    chance = rng.random(runs)
    turn = (likely - low) / (high - low)
    rising = low + np.sqrt(chance * (high - low) * (likely - low))
    falling = high - np.sqrt((1 - chance) * (high - low) * (high - likely))
    return np.asarray(np.maximum(np.where(chance < turn, rising, falling) * left, 1.0))
