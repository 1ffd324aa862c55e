"""The shop as a copy has it: the planner's problem with the copy's changes, and what comes of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from datetime import date, datetime, timedelta
from typing import Any

from builds.engines.planning import copies
from builds.engines.planning.plan import Plan
from builds.engines.planning.planner import plan_shop
from builds.engines.planning.problem import Problem
from builds.models import Delivery, Shop, ToldRow
from builds.queries.opening import OpeningTimes, instant, minute, opening_times
from builds.queries.plan_changes import changes_of
from builds.queries.problem import shop_problem
from builds.queries.what_if_clashes import Change, clashes_of, grounds_of


def result_of(changes: Sequence[Change], now: datetime, *, shop: Shop) -> dict[str, Any]:
    """What the plan would be with the changes, beside the plan as it is; ready to store.

    `vans` are [build, handover now, handover then]; `unplanned` [task, code] and `broken` pinned or told
    tasks that only the copy has; `changes` what moves and who does it (see `changes_of`) and `told` those
    of the moved that the crew was told; `order` is the copy's. `clashes` says, by the place of a change in
    the list, why the shop no longer has what it is about: those are left out.
    """
    clashes = clashes_of(changes, grounds_of(changes), opening_times(shop).day_of(now))
    counted = [c for place, c in enumerate(changes) if place not in clashes]
    before = plan_shop(shop_problem(now, shop=shop))
    problem = changed(counted, before, now, shop=shop)
    after = plan_shop(problem)
    found = changes_of(before, after)
    known = {u.task for u in before.unplanned}
    flagged = {f.task for f in before.flags}
    moved = [row[0] for row in found["moved"]]
    return {
        "vans": [
            [int(v.id), _iso(before.handovers.get(v.id)), _iso(after.handovers.get(v.id))]
            for v in problem.vans
        ],
        "unplanned": [list(asdict(u).values())[:2] for u in after.unplanned if u.task not in known],
        "broken": sorted({f.task for f in after.flags} - flagged),
        "changes": found,
        "told": sorted(ToldRow.objects.filter(task__in=moved).values_list("task_id", flat=True)),
        "order": [int(i) for i in after.order],
        "clashes": {str(place): words for place, words in clashes.items()},
    }


def days_of(result: Mapping[str, Any], times: OpeningTimes) -> tuple:
    """What the owner looks at before keeping a copy: another result with the same days is as good."""
    days = [[build, *(_day(at, times) for at in ends)] for build, *ends in result.get("vans", [])]
    return days, result.get("unplanned"), result.get("broken"), result.get("clashes")


def changed(changes: Sequence[Change], before: Plan, now: datetime, *, shop: Shop) -> Problem:
    """The problem with all changes; the order is the one of the plan as it is, so that only they differ."""
    times = opening_times(shop)
    taken = [c["build"] for c in changes if c["kind"] == "taken in"]
    problem = shop_problem(now, shop=shop, also=taken, expected=_expected(changes))
    for change in changes:
        problem = _with(problem, change, times)
    problem = replace(problem, order=before.order)
    for change in changes:
        if change["kind"] == "first":
            order = copies.with_van_first(problem, problem.order, str(change["build"]), change["place"])
            problem = replace(problem, order=order)
    return problem


def _expected(changes: Sequence[Change]) -> dict[int, date | None]:
    """The days that deliveries come on with the changes, by their pk; None for what is not waited for."""
    orders: dict[int, list[int]] = defaultdict(list)
    wanted = [c["order"] for c in changes if "order" in c]
    if wanted:
        rows = Delivery.objects.filter(line__order__in=wanted, arrived_on=None)
        for order, pk in rows.values_list("line__order", "pk"):
            orders[order].append(pk)
    found: dict[int, date | None] = {}
    for change in changes:
        if change["kind"] in ("late", "without"):
            day = date.fromisoformat(change["day"]) if "day" in change else None
            for pk in orders[change["order"]] if "order" in change else (change["delivery"],):
                found[pk] = day
    return found


def days_between(change: Change) -> list[date]:
    """Every day of a change that runs from a first to a last day."""
    first, last = date.fromisoformat(change["first"]), date.fromisoformat(change["last"])
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def _with(problem: Problem, change: Change, times: OpeningTimes) -> Problem:
    """The problem with one change; those to deliveries and to the order are made where it is read."""
    kind = change["kind"]
    if kind == "away":
        days = days_between(change)
        since, until = times.start_of(days[0]), times.start_of(days[-1] + timedelta(days=1))
        return copies.with_absence(problem, str(change["person"]), minute(since), minute(until))
    if kind == "longer":
        return copies.with_longer_days(problem, str(change["person"]), change["minutes"])
    if kind == "closed":
        return copies.with_closed_days(problem, days_between(change))
    if kind == "pin":
        return copies.with_pin(problem, str(change["task"]), date.fromisoformat(change["monday"]))
    if kind == "taken in":
        return copies.with_arrival(problem, str(change["build"]), date.fromisoformat(change["day"]))
    return problem


def _iso(at: int | None) -> str | None:
    return instant(at).isoformat() if at is not None else None


def _day(text: str | None, times: OpeningTimes) -> date | None:
    return times.day_of(datetime.fromisoformat(text)) if text else None
