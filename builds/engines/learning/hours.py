"""Hours taken against the standard's hours: the middle, the spread, and when they say something else.

A ratio is hours taken over the standard's likely hours for that size of work: 1 is as planned. Whether a
few ratios say anything is judged without assuming a distribution: the interval between two order
statistics holds the true median with a probability that is plain binomial (David & Nagaraja, Order
Statistics, 3rd ed., section 7.1, from memory; the sums are computed here).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import comb

SURE_ENOUGH = 0.90
"""How sure the interval of the median has to be. It asks for five cases at least."""

LEAST_DIFFERENCE = 0.10
"""A middle nearer to the plan than this is left alone: quarter hours hide it."""


@dataclass(frozen=True, slots=True)
class Taken:
    """The ratios of one kind of work: their number, median, and where eight of ten lie."""

    cases: int
    median: float
    low: float
    high: float
    says_other: bool


def taken(ratios: Sequence[float]) -> Taken:
    """Sum up the ratios of finished work; `says_other` when they speak for other hours than planned.

    Raises ValueError for no ratios or one that is not positive.
    """
    if not ratios or min(ratios) <= 0:
        raise ValueError("Ratios of hours taken are positive, and there is at least one.")
    rows = sorted(ratios)
    middle = quantile(rows, 0.5)
    between = median_interval(rows, SURE_ENOUGH)
    is_other = between is not None and not between[0] <= 1 <= between[1]
    return Taken(
        cases=len(rows),
        median=middle,
        low=quantile(rows, 0.1),
        high=quantile(rows, 0.9),
        says_other=is_other and abs(middle - 1) >= LEAST_DIFFERENCE,
    )


def suggested(hours: tuple[float, float, float], found: Taken) -> tuple[float, float, float]:
    """Low, likely and high hours by what was taken, in quarter hours and in order, never nothing.

    `hours` are the standard's low, likely and high. A spread narrower than half of the standard's is
    widened to that: few cases look more alike than the work is.
    """
    low, likely, high = hours
    middle = likely * found.median
    below = max(found.median - found.low, (likely - low) / likely * found.median / 2)
    above = max(found.high - found.median, (high - likely) / likely * found.median / 2)
    wanted = _quarter(middle - likely * below), _quarter(middle), _quarter(middle + likely * above)
    return min(wanted[0], wanted[1]), wanted[1], max(wanted[1], wanted[2])


def median_interval(rows: Sequence[float], sure: float) -> tuple[float, float] | None:
    """The narrowest pair of order statistics that holds the median with probability `sure`, if any.

    `rows` are sorted.
    """
    n, found = len(rows), None
    outside = 0.0
    for k in range(1, n // 2 + 1):
        outside += 2 * comb(n, k - 1) / 2**n
        if 1 - outside < sure:
            break
        found = rows[k - 1], rows[n - k]
    return found


def quantile(rows: Sequence[float], share: float) -> float:
    """The value below which `share` of the sorted rows lie, straight lines between them."""
    at = share * (len(rows) - 1)
    below = int(at)
    above = min(below + 1, len(rows) - 1)
    return rows[below] + (rows[above] - rows[below]) * (at - below)


def _quarter(hours: float) -> float:
    return max(0.25, int(hours * 4 + 0.5) / 4)
