"""Which rests are worth keeping. What counts as worth it is the shop's own choice; no source."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class LeastSizes:
    """The smallest rests the shop keeps, in mm: a sheet's longer and shorter side, a length's run."""

    length_mm: int
    width_mm: int
    run_mm: int


def is_worth_keeping(length_mm: int, width_mm: int | None, least: LeastSizes) -> bool:
    """Whether a rest has at least the least size, whichever way it lies; one without width is a length."""
    if width_mm is None:
        return length_mm >= least.run_mm
    long, short = max(length_mm, width_mm), min(length_mm, width_mm)
    return long >= least.length_mm and short >= least.width_mm
