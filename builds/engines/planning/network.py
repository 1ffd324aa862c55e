"""Critical path of one network: earliest and latest times, float, and three-point estimates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import erf, sqrt


class NetworkHasLoop(ValueError):
    """The activities wait for each other; `ids` are those that stand on or behind a loop."""

    def __init__(self, ids: tuple[str, ...]) -> None:
        super().__init__(f"a loop among {', '.join(ids)}")
        self.ids = ids


@dataclass(frozen=True, slots=True)
class Activity:
    """Work with a low, likely and high length (any unit) after other activities."""

    id: str
    low: float
    likely: float
    high: float
    after: tuple[str, ...] = ()

    @property
    def mean(self) -> float:
        """Expected length, (a + 4m + b) / 6."""
        return (self.low + 4 * self.likely + self.high) / 6

    @property
    def variance(self) -> float:
        """Variance of the length, ((b - a) / 6) squared."""
        return ((self.high - self.low) / 6) ** 2


@dataclass(frozen=True, slots=True)
class CriticalPath:
    """Earliest and latest starts and float by activity, the length, and one longest path."""

    earliest: dict[str, float]
    latest: dict[str, float]
    float_by: dict[str, float]
    length: float
    path: tuple[str, ...]
    variance: float

    def chance_by(self, limit: float) -> float:
        """The chance that the longest path ends by `limit`, its length taken as normal.

        Too rosy where several paths are nearly as long (merge bias): a simulation sees those.
        """
        if self.variance == 0:
            return float(self.length <= limit)
        return 0.5 * (1 + erf((limit - self.length) / sqrt(2 * self.variance)))


def critical_path(activities: Sequence[Activity]) -> CriticalPath:
    """Work a network through with mean lengths, forward then backward.

    Raises `NetworkHasLoop`. Source: Kelley and Walker 1959 (critical path), Malcolm et al. 1959
    (three-point estimates); from memory.
    """
    by_id = {a.id: a for a in activities}
    order = _in_order(by_id)
    earliest: dict[str, float] = {}
    for i in order:
        earliest[i] = max((earliest[p] + by_id[p].mean for p in by_id[i].after), default=0.0)
    length = max((earliest[i] + by_id[i].mean for i in order), default=0.0)
    latest = {i: length - by_id[i].mean for i in order}
    for i in reversed(order):
        for p in by_id[i].after:
            latest[p] = min(latest[p], latest[i] - by_id[p].mean)
    path = _longest(by_id, earliest)
    return CriticalPath(
        earliest=earliest,
        latest=latest,
        float_by={i: latest[i] - earliest[i] for i in order},
        length=length,
        path=path,
        variance=sum(by_id[i].variance for i in path),
    )


def _in_order(by_id: dict[str, Activity]) -> list[str]:
    order: list[str] = []
    left = dict(by_id)
    while left:
        free = [i for i, a in left.items() if not any(p in left for p in a.after)]
        if not free:
            raise NetworkHasLoop(tuple(left))
        order += free
        for i in free:
            del left[i]
    return order


def _longest(by_id: dict[str, Activity], earliest: dict[str, float]) -> tuple[str, ...]:
    """Back from the activity that ends last, always to the predecessor that bound it."""
    if not by_id:
        return ()
    at = max(by_id, key=lambda i: earliest[i] + by_id[i].mean)
    path = [at]
    while by_id[at].after:
        at = max(by_id[at].after, key=lambda p: earliest[p] + by_id[p].mean)
        path.append(at)
    return tuple(reversed(path))
