"""Low, likely and high working minutes of the shop's tasks, as its plan counts minutes."""

from __future__ import annotations

from decimal import Decimal

from builds.engines.planning.problem import Problem
from builds.models import Task

Spread = dict[str, tuple[float, float, float]]


def hours_spread(problem: Problem) -> Spread:
    """By task of the problem, its minutes when all goes well, as planned, and badly; one query."""
    minutes = {t.id: t.minutes for t in problem.tasks if t.state != "done"}
    rows = Task.objects.unfinished().filter(build__in=[int(van.id) for van in problem.vans])
    return {
        str(pk): scaled(minutes[str(pk)], *spread)
        for pk, *spread in rows.order_by().values_list("pk", "hours_low", "hours", "hours_high")
        if str(pk) in minutes
    }


def scaled(minutes: int, low: Decimal, likely: Decimal, high: Decimal) -> tuple[float, float, float]:
    """The spread of hours laid on the minutes that the plan reckons with."""
    a_minute = minutes / float(likely)
    return float(low) * a_minute, float(minutes), float(high) * a_minute
