"""Hours taken against the library's, task by task of the standard work. No person is read or named."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from builds.engines.learning.hours import Taken, suggested, taken
from builds.models import StandardTask, Task

MORE_CASES = 3
"""A declined suggestion comes again after so many further cases."""

Hours = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class LearnedHours:
    """One standard task with finished work: its hours as planned, and low, middle and high of those taken.

    Hours are working hours of the whole crew for work of the standard's size. `suggestion` are low, likely
    and high hours where the cases speak for others; `is_declined` when the owner left it so.
    """

    key: str
    name: str
    phase: str
    planned: Hours
    taken: Hours
    cases: int
    suggestion: Hours | None
    is_declined: bool

    @property
    def is_open(self) -> bool:
        return self.suggestion is not None and not self.is_declined


def learned_hours(key: str | None = None) -> tuple[LearnedHours, ...]:
    """Standard tasks with finished work, by phase in the library's order, or that of `key`; two queries.

    Left out: work split, copied or merged, of another crew than the standard's, and what has no hours.
    """
    standards = StandardTask.objects.filter(withdrawn=False).order_by("order", "key")
    done = Task.objects.kept().filter(
        state="done", hours_taken__gt=0, standard_share__gt=0, unplanned_job=False
    )
    if key is not None:
        standards, done = standards.filter(key=key), done.filter(standard=key)
    found: dict[tuple[str, int], list[float]] = defaultdict(list)
    for standard, crew, hours, share in done.values_list("standard", "crew", "hours_taken", "standard_share"):
        found[standard, crew].append(float(hours) / float(share))
    rows = [_learned(row, found[row.key, row.crew]) for row in standards if (row.key, row.crew) in found]
    phases = list(dict.fromkeys(row.phase for row in rows))
    return tuple(sorted(rows, key=lambda row: phases.index(row.phase)))


def _learned(row: StandardTask, hours: list[float]) -> LearnedHours:
    planned = float(row.hours_low), float(row.hours_likely), float(row.hours_high)
    summed = taken([h / planned[1] for h in hours])
    suggestion = suggested(planned, summed) if summed.says_other else None
    return LearnedHours(
        key=row.key,
        name=row.name,
        phase=row.phase,
        planned=planned,
        taken=_in_hours(summed, planned[1]),
        cases=summed.cases,
        suggestion=None if suggestion == planned else suggestion,
        is_declined=row.declined_cases > 0 and summed.cases < row.declined_cases + MORE_CASES,
    )


def _in_hours(summed: Taken, likely: float) -> Hours:
    return summed.low * likely, summed.median * likely, summed.high * likely
