"""The same small shop everywhere: open 8 to 5 with half an hour's break, from Monday 2 November 2026."""

from datetime import date, datetime

from builds.engines.planning.calendar import instant, reading
from builds.engines.planning.problem import Fitter, Link, Opening, Place, Problem, Task, Van

WEEK = dict.fromkeys(range(5), ((480, 720), (750, 1020)))
OPENING = Opening(WEEK)

ANNA = Fitter("anna", frozenset({"joinery", "finishing"}))
BEN = Fitter("ben", frozenset({"electrical", "joinery"}))
APPRENTICE = Fitter("col", frozenset())
GAS = Fitter("gas", frozenset({"gas"}), helps=False, days=frozenset({1}))

PLACES = {
    "inside": Place("inside", 2, "people", per_van=True, holds_bay=True, position="in the bay"),
    "underneath": Place("underneath", holds_bay=True, position="raised"),
    "bench": Place("bench", 1),
    "spray": Place("spray", 1),
    "office": Place("office"),
}


def when(day, clock="08:00", month=11, year=2026):
    hour, minute = clock.split(":")
    return instant(datetime(year, month, day, int(hour), int(minute)), None)


def van(id="v1", promised=date(2026, 12, 18), here=None, **changes):
    return Van(id, here or ((when(2), None),), promised, **changes)


def job(id, minutes=60, trade="joinery", place="office", van="v1", after=(), **changes):
    links = tuple(k if isinstance(k, Link) else Link(k) for k in after)
    needs = place in ("inside", "underneath")
    return Task(id, van, minutes, trade, place, after=links, **{"needs_van": needs, **changes})


def shop(*tasks, fitters=(ANNA, BEN, APPRENTICE), vans=(), **changes):
    return Problem(
        **{
            "opening": OPENING,
            "places": PLACES,
            "fitters": tuple(fitters),
            "vans": tuple(vans) or (van(),),
            "tasks": tuple(tasks),
            "now": when(2),
            **changes,
        }
    )


def starts(plan):
    """Start readings by task, "Mon 2 08:00"."""
    return {p.task: reading(p.start, None).strftime("%a %-d %H:%M") for p in plan.planned}


def finishes(plan):
    return {p.task: reading(p.finish, None).strftime("%a %-d %H:%M") for p in plan.planned}


def hands(plan):
    return {p.task: p.fitters for p in plan.planned}


def reasons(plan):
    return {p.task: p.reason for p in plan.planned}
