"""A figure measured today beside its goal, and how a table of them is shown."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Figure:
    """One line: `value` and `goal` in `unit`, and how many times the bare floor it takes.

    The value is to be no more than the goal, or with `at_least` no less.
    """

    what: str
    value: float
    unit: str
    goal: float | None = None
    floor: float | None = None
    at_least: bool = False

    @property
    def is_met(self) -> bool | None:
        if self.goal is None:
            return None
        return self.value >= self.goal if self.at_least else self.value <= self.goal

    @property
    def _shown(self) -> str:
        return f"{self.value:.0f}" if float(self.value).is_integer() else f"{self.value:.4g}"

    def line(self) -> str:
        goal = "" if self.goal is None else f"{self.goal:g} {self.unit}"
        met = {None: "", True: "met", False: "NOT MET"}[self.is_met]
        ratio = f"{self.value / self.floor:.1f} x the floor" if self.floor else ""
        return f"{self.what:<58} {self._shown:>9} {self.unit:<8} {goal:>10} {met:<8} {ratio}".rstrip()


def median_ms(work: Callable[[], object], times: int = 9, warm: int = 2) -> float:
    """The median of some runs in milliseconds, after warm ones that do not count."""
    for _ in range(warm):
        work()
    taken = []
    for _ in range(times):
        started = time.perf_counter()
        work()
        taken.append((time.perf_counter() - started) * 1000)
    return statistics.median(taken)


def table(title: str, figures: Iterable[Figure]) -> str:
    return "\n".join(["", title, "-" * len(title), *(f.line() for f in figures)])
