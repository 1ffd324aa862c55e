"""The shop with one thing otherwise: single changes to a problem, for trying what would come of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import date

from .calendar import midnight
from .prepare import prepare
from .problem import Fitter, Problem, Spans, Van
from .rules import in_link_order, lifted


def with_absence(problem: Problem, fitter: str, since: int, until: int) -> Problem:
    """Somebody is away between two instants."""
    return _with_fitter(problem, fitter, lambda f: replace(f, away=(*f.away, (since, until))))


def with_longer_days(problem: Problem, fitter: str, minutes: int) -> Problem:
    """Somebody works on after the last hour of each day that they work, to midnight at most."""
    week = problem.opening.week

    def longer(one: Fitter) -> Fitter:
        days = {d: (one.hours or {}).get(d, week.get(d, ())) for d in one.days or week}
        return replace(one, hours={d: _longer(spans, minutes) for d, spans in days.items() if spans})

    return _with_fitter(problem, fitter, longer)


def with_closed_days(problem: Problem, days: Iterable[date]) -> Problem:
    """The shop stays shut on more days."""
    opening = replace(problem.opening, closed=problem.opening.closed | set(days))
    return replace(problem, opening=opening)


def with_pin(problem: Problem, task: str, monday: date) -> Problem:
    """A task is pinned to a week; what was told of it gives way."""
    tasks = (replace(t, pin_week=monday, told_week=None) if t.id == task else t for t in problem.tasks)
    return replace(problem, tasks=tuple(tasks))


def with_arrival(problem: Problem, van: str, day: date) -> Problem:
    """A van comes to stay on a day; shorter visits of it before stay as they are."""
    comes = (midnight(day, problem.opening.zone), None)

    def stays(one: Van) -> tuple[tuple[int, int | None], ...]:
        return (*(s for s in one.here if s[1] is not None), comes)

    return replace(problem, vans=tuple(replace(v, here=stays(v)) if v.id == van else v for v in problem.vans))


def with_van_first(problem: Problem, order: Sequence[str], van: str, place: str) -> tuple[str, ...]:
    """The order with a van's work at a place, and what must come before it, in front of all else."""
    prepared = prepare(problem)
    numbers = [prepared.numbers[i] for i in order if i in prepared.numbers]
    tasks = problem.tasks
    mine = [n for n in numbers if tasks[n].van == van and tasks[n].place == place]
    found = in_link_order(prepared, lifted(prepared, numbers, mine))
    return tuple(prepared.jobs[n].id for n in found)


def _with_fitter(problem: Problem, fitter: str, change: Callable[[Fitter], Fitter]) -> Problem:
    return replace(problem, fitters=tuple(change(f) if f.id == fitter else f for f in problem.fitters))


def _longer(spans: Spans, minutes: int) -> Spans:
    *before, (start, end) = spans
    return (*before, (start, min(end + minutes, 1440)))
