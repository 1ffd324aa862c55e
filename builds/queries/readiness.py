"""What keeps a task from starting, read from the shop as it is and said in words."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from builds.engines.floor.readiness import Before, Hindrance, hindrances
from builds.models import Delivery, Link, Shop, Task
from builds.queries.problem import WARMTH_FACTOR


@dataclass(frozen=True)
class Missing:
    """Something a task wants that is not there, and that a fitter may confirm to have after all."""

    code: str
    words: str
    what: str


def links_into(tasks: Iterable[int]):
    """The links into these tasks whose earlier work was not taken out, with its check."""
    rows = Link.objects.filter(after__in=tasks, before__removed_at=None)
    return rows.select_related("before__hold_point")


def as_before(link: Link, shop: Shop) -> Before:
    task = link.before
    check = getattr(task, "hold_point", None)
    return Before(
        link=link.pk,
        name=task.name,
        state=task.state,
        finished_at=task.finished_at,
        wait_minutes=stretched_wait(link, shop),
        dry_at=link.dry_at,
        check=check.name if check else "",
        check_state=check.state if check else "",
    )


def stretched_wait(link: Link, shop: Shop) -> int:
    """Clock minutes of a wait; a cold shop stretches what dries, as it does in the plan."""
    return math.ceil(link.wait_minutes * WARMTH_FACTOR[shop.warmth]) if link.cure else link.wait_minutes


def task_hindrances(task: Task, at: datetime, shop: Shop) -> tuple[Hindrance, ...]:
    """What keeps one task from starting at `at`; one query."""
    return hindrances([as_before(link, shop) for link in links_into([task.pk])], at)


def in_words(hindrance: Hindrance, at: datetime, zone: ZoneInfo) -> str:
    if hindrance.code == "wait":
        return f"“{hindrance.what}” needs until {clock_words(hindrance.until, at, zone)}"
    if hindrance.code == "check due":
        return f"The check “{hindrance.what}” is not passed"
    if hindrance.code == "check failed":
        return f"The check “{hindrance.what}” failed and waits for a recheck"
    return f"“{hindrance.what}” is not done"


def clock_words(moment: datetime | None, at: datetime, zone: ZoneInfo) -> str:
    """Gives "14:30", with the day where it is another one: "14:30 on Tue 3 Mar"."""
    if moment is None:
        return ""
    here = moment.astimezone(zone)
    words = f"{here:%H:%M}"
    if here.date() == at.astimezone(zone).date():
        return words
    return f"{words} on {here:%a} {here.day} {here:%b}"


def missing_for(task: Task, today: date) -> tuple[Missing, ...]:
    """Parts not found on the kit shelf, and a van that is not here; one query."""
    late = Delivery.objects.filter(tasks=task, on_shelf_on=None).order_by("expected_on", "pk")
    return missing_in(task, list(late), today)


def missing_in(task: Task, deliveries: Iterable[Delivery], today: date) -> tuple[Missing, ...]:
    found = [_part(delivery) for delivery in deliveries]
    build = task.build
    if task.needs_van and build.arrives_on and build.arrives_on > today and build.survey_on != today:
        day = build.arrives_on
        found.append(Missing("van", f"The van is to come on {day:%a} {day.day} {day:%b}", build.name))
    return tuple(found)


def _part(delivery: Delivery) -> Missing:
    if delivery.arrived_on:
        return Missing("shelf", f"{delivery.what}: came, but not found on the kit shelf yet", delivery.what)
    day = delivery.expected_on
    return Missing(
        "delivery", f"{delivery.what}: not here, expected {day:%a} {day.day} {day:%b}", delivery.what
    )
