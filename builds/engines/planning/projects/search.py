"""Short schedules of plain projects: the search of the shop's planner, then a constraint solver.

As in the shop, every activity has a key and is placed by key; a try changes the keys around a moment and is
kept when the schedule gets no longer by more than the search still allows. Small projects, what is left of
the time, go whole to CP-SAT, which can also prove that nothing is shorter.
"""

from __future__ import annotations

from collections.abc import Callable
from math import exp
from random import Random
from time import monotonic

from .passes import Passes
from .project import Project, Schedule, least_makespan, tails
from .whole import solved_whole

WHOLE_UP_TO = 80
"""Activities up to which the solver is given the whole project; beyond, it finds nothing new."""

PROVEN_UP_TO = 40
PROOF_SHARE, SEARCH_SHARE = 0.05, 0.5
"""The share of the time spent on keys before the solver: little where a proof is near, else half."""

FIRST_TRIES = 60
ALLOWED = 1.0
"""Periods of makespan that a try may cost, about, at the start of the search."""

WINDOWS = (0.05, 0.1, 0.2, 0.4)
SPREADS = (1.5, 3.0, 6.0)
"""How wide a stretch of the schedule a try changes, and by how many mean lengths it shifts keys."""


def shortest(
    project: Project,
    *,
    seconds: float,
    seed: int,
    workers: int = 1,
    clock: Callable[[], float] = monotonic,
) -> Schedule:
    """A schedule as short as found in `seconds`, with the best bound known.

    Raises `ImpossibleProject`. The same seed tries the same things; how many fit into the time depends on
    the machine. `clock` is a stopwatch in seconds; `workers` are the solver's.
    """
    since = clock()
    passes = Passes(project)
    bound = least_makespan(project)
    is_small = passes.count <= WHOLE_UP_TO
    search = _KeySearch(passes, bound, Random(seed))
    share = PROOF_SHARE if passes.count <= PROVEN_UP_TO else SEARCH_SHARE if is_small else 1.0
    starts = search.best(seconds * share, clock)
    found = Schedule(tuple(starts), passes.makespan(starts), bound)
    left = seconds - (clock() - since)
    if found.is_proven or not is_small or left <= 0:
        return found
    return solved_whole(project, found, seconds=left, seed=seed, workers=workers)


class _KeySearch:
    """Annealing over keys; each try is one pass by key and a justification (two passes)."""

    def __init__(self, passes: Passes, bound: int, random: Random) -> None:
        self._passes, self._bound, self._random = passes, bound, random
        self._mean = sum(passes.lengths) / max(1, passes.count)

    def best(self, seconds: float, clock: Callable[[], float]) -> list[int]:
        """Starts of the shortest schedule met in the time; stops early at the bound."""
        since, random, passes = clock(), self._random, self._passes
        now = self._first(lambda: clock() - since > seconds / 4)
        best, length = now, passes.makespan(now)
        least = length
        while least > self._bound:
            spent = (clock() - since) / max(seconds, 1e-9)
            if spent >= 1.0:
                break
            allowed = ALLOWED * max(0.0, 1.0 - spent / 0.9)
            new = passes.justified(passes.forwards(passes.in_link_order(self._changed(now, length))))
            found = passes.makespan(new)
            if found <= length or (allowed and random.random() < exp((length - found) / allowed)):
                now, length = new, found
                if found < least:
                    best, least = new, found
        return best

    def _first(self, is_over: Callable[[], bool]) -> list[int]:
        """The best of a few schedules by the longest chain behind each activity, keys blurred."""
        passes, random = self._passes, self._random
        chains = tails(passes.project)
        best: list[int] = []
        for k in range(FIRST_TRIES):
            blur = self._mean * random.choice((1, 2, 4)) if k else 0.0
            key = [random.gauss(0, blur) - t for t in chains]
            new = passes.justified(passes.forwards(passes.in_link_order(key)))
            if not best or passes.makespan(new) < passes.makespan(best):
                best = new
            if is_over() or passes.makespan(best) <= self._bound:
                break
        return best

    def _changed(self, starts: list[int], length: int) -> list[float]:
        """Keys that give a schedule, those around a moment or of a few activities shifted."""
        random, count = self._random, self._passes.count
        key = [float(s) for s in starts]
        spread = self._mean * random.choice(SPREADS)
        if random.random() < 0.6:
            middle, half = random.uniform(0, length), length * random.choice(WINDOWS) / 2
            for n, s in enumerate(starts):
                if abs(s - middle) <= half:
                    key[n] += random.gauss(0, spread)
        else:
            for _ in range(random.choice((1, 2, 3, 6))):
                key[random.randrange(count)] += random.gauss(0, 3 * spread)
        return key
