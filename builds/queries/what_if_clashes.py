"""Whether the shop still is what a change of a copy was thought up for, and in what words it is not."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from builds.models import Build, Delivery, Person, PersonHours, Task

Change = dict[str, Any]
"""One change of a copy: its "kind", ids, days as ISO texts, "words" for people, and the "grounds" it
stands on: what the shop had there when it was tried."""

GONE = {
    "away": "doesn’t work here any more",
    "longer": "doesn’t work here any more",
    "late": "it has come, or nobody waits for it any more",
    "without": "it has come, or nobody waits for it any more",
    "taken in": "that van is taken in or given up by now",
    "first": "that van is not being built any more",
    "pin": "that task is under way, done or taken out by now",
}
CHANGED = {
    "longer": "the hours were changed meanwhile",
    "late": "that delivery was changed meanwhile",
    "without": "that delivery was changed meanwhile",
    "taken in": "the day that van comes was changed meanwhile",
    "pin": "that task was moved meanwhile",
}


def grounds_of(changes: Sequence[Change]) -> list[str | None]:
    """What each change stands on, as a text to compare; None where it is not there any more.

    At most six queries, however many changes.
    """
    people = _people([c["person"] for c in changes if "person" in c])
    deliveries = _deliveries([c["delivery"] for c in changes if "delivery" in c])
    orders = _orders([c["order"] for c in changes if "order" in c])
    builds = _builds([c["build"] for c in changes if "build" in c])
    tasks = _tasks([c["task"] for c in changes if "task" in c])
    found: list[str | None] = []
    for change in changes:
        kind = change["kind"]
        if kind in ("away", "longer"):
            hours = people.get(change["person"])
            found.append(hours if hours is None or kind == "longer" else "")
        elif kind in ("late", "without"):
            to_come = orders.get(change["order"]) if "order" in change else deliveries.get(change["delivery"])
            found.append(to_come)
        elif kind in ("taken in", "first"):
            status, arrives = builds.get(change["build"], ("", ""))
            is_so = status == ("asked" if kind == "taken in" else "agreed")
            found.append((arrives if kind == "taken in" else "") if is_so else None)
        else:
            found.append(tasks.get(change["task"]) if kind == "pin" else "")
    return found


def clashes_of(changes: Sequence[Change], grounds: Sequence[str | None], today: date) -> dict[int, str]:
    """By their place in the list, the changes that the shop has moved away from, each with why."""
    found = {}
    for place, (change, now) in enumerate(zip(changes, grounds, strict=True)):
        if now != change["grounds"]:
            found[place] = (GONE if now is None else CHANGED)[change["kind"]]
        elif _last_day(change, today) < today:
            found[place] = "that day is over"
    return found


def _last_day(change: Change, today: date) -> date:
    """The last day that a change can be for; today for one that is for any day."""
    if "monday" in change:
        return date.fromisoformat(change["monday"]) + timedelta(days=6)
    text = change.get("last") or change.get("day")
    return date.fromisoformat(text) if text else today


def _people(wanted: list[int]) -> dict[int, str]:
    if not wanted:
        return {}
    hours: dict[int, list[str]] = defaultdict(list)
    rows = PersonHours.objects.filter(person__in=wanted).order_by("weekday", "starts")
    for person, day, starts, ends in rows.values_list("person_id", "weekday", "starts", "ends"):
        hours[person].append(f"{day} {starts:%H:%M}-{ends:%H:%M}")
    working = Person.objects.working().filter(pk__in=wanted).values_list("pk", flat=True)
    return {pk: ", ".join(hours[pk]) for pk in working}


def _deliveries(wanted: list[int]) -> dict[int, str]:
    if not wanted:
        return {}
    waiting: dict[int, list[int]] = defaultdict(list)
    days = {}
    rows = Delivery.objects.filter(pk__in=wanted, arrived_on=None, on_shelf_on=None, tasks__isnull=False)
    for pk, day, task in rows.values_list("pk", "expected_on", "tasks"):
        days[pk] = day
        waiting[pk].append(task)
    return {pk: f"{day} {sorted(waiting[pk])}" for pk, day in days.items()}


def _orders(wanted: list[int]) -> dict[int, str]:
    """What is still to come of each order, and when."""
    rows = Delivery.objects.filter(line__order__in=wanted, arrived_on=None).order_by("pk") if wanted else ()
    found: dict[int, str] = {}
    for order, pk, day in rows and rows.values_list("line__order", "pk", "expected_on"):
        found[order] = f"{found.get(order, '')} {pk}: {day}"
    return found


def _builds(wanted: list[int]) -> dict[int, tuple[str, str]]:
    if not wanted:
        return {}
    rows = Build.objects.filter(pk__in=wanted).values_list("pk", "status", "arrives_on")
    return {pk: (status, str(day or "")) for pk, status, day in rows}


def _tasks(wanted: list[int]) -> dict[int, str]:
    if not wanted:
        return {}
    rows = Task.objects.unfinished().filter(pk__in=wanted, state="to do", build__status="agreed")
    return {pk: str(monday or "") for pk, monday in rows.values_list("pk", "pin__monday")}
