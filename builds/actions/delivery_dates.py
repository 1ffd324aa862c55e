"""Another day for what is to come: what it does to the handovers, before it is kept; and keeping it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from builds.actions.arriving import save
from builds.actions.checked import check_day, day_words, fresh
from builds.actions.door import Refused, check_version, note_in_journal, write
from builds.engines.planning.planner import plan_shop
from builds.models import Delivery, Order, User
from builds.queries.date_words import lines_of_dates
from builds.queries.opening import opening_times
from builds.queries.problem import shop_problem

FARTHEST = timedelta(days=730)


@dataclass(frozen=True)
class OtherDay:
    """What another day does, line by line, before it is kept."""

    expected_on: date
    lines: tuple[str, ...]


def look_at_day(*, deliveries: list[Delivery], expected_on: date, now: datetime) -> OtherDay:
    """Tells which handovers change if these deliveries came on another day; changes nothing.

    Refused when none of them is still to come, or the day can't be.
    """
    _check(expected_on, now)
    waiting = [row for row in deliveries if row.arrived_on is None]
    if not waiting:
        raise Refused("It is here already.", field="expected_on")
    before = plan_shop(shop_problem(now))
    moved = shop_problem(now, expected={row.pk: expected_on for row in waiting})
    return OtherDay(expected_on, lines_of_dates(before, plan_shop(moved), opening_times()))


def change_order_day(
    *, order: Order, expected_on: date, version: int | None = None, now: datetime, by: User | None
) -> int:
    """Moves what is still to come of an order to another day; gives how many deliveries that were.

    The first day each was expected stays on record. The plan is made anew.
    """
    with write():
        row = fresh(Order, order)
        check_version(row, version)
        _check(expected_on, now)
        waiting = list(Delivery.objects.filter(line__order=row, arrived_on=None))
        if not waiting:
            raise Refused("Nothing of it is still to come.", field="expected_on")
        for delivery in waiting:
            delivery.expected_on = expected_on
            save(delivery)
        row.expected_on = expected_on
        row.version += 1
        row.save(update_fields=["expected_on", "version"])
        words = f"What is to come of {row} now comes {day_words(expected_on)}"
        note_in_journal(words, now=now, by=by, build=row.build)
    return len(waiting)


def _check(expected_on: date, now: datetime) -> None:
    check_day(expected_on, "expected_on")
    today = opening_times().day_of(now)
    if expected_on < today:
        raise Refused("That day is over. If it came, book it in.", field="expected_on")
    if expected_on > today + FARTHEST:
        raise Refused("That is more than two years ahead. Look at the year.", field="expected_on")
