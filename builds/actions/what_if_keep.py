"""How each change of a copy is carried out for real: by the action that there is for it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from datetime import date, datetime, time

from builds.actions.builds import agree, change_build
from builds.actions.deliveries import change_date, change_delivery
from builds.actions.delivery_dates import change_order_day
from builds.actions.door import Gone, Refused
from builds.actions.moving import chosen_work, keep_move
from builds.actions.people import add_absence, set_hours
from builds.actions.shop import close_day
from builds.models import Build, Delivery, OpeningSpan, Order, Person, User
from builds.queries.opening import opening_times
from builds.queries.what_if_clashes import Change

LAST_MINUTE = 23 * 60 + 45


def carry_out(change: Change, *, now: datetime, by: User | None) -> None:
    """Does for real what a change of a copy says; refused as its action refuses."""
    _ACTIONS[change["kind"]](change, now, by)


def _away(change: Change, now: datetime, by: User | None) -> None:
    add_absence(
        person=_person(change),
        first_day=date.fromisoformat(change["first"]),
        last_day=date.fromisoformat(change["last"]),
        now=now,
        by=by,
    )


def _longer(change: Change, now: datetime, by: User | None) -> None:
    person = _person(change)
    spans: dict[int, list[tuple[time, time]]] = defaultdict(list)
    rows = person.hours.values_list("weekday", "starts", "ends")
    for day, starts, ends in rows or OpeningSpan.objects.values_list("weekday", "opens", "closes"):
        spans[day].append((starts, ends))
    longer = {day: _with_longer_end(sorted(rows), change["minutes"]) for day, rows in spans.items()}
    set_hours(person=person, spans=longer, now=now, by=by)


def _with_longer_end(spans: list[tuple[time, time]], minutes: int) -> list[tuple[time, time]]:
    *before, (start, end) = spans
    until = end.hour * 60 + end.minute + minutes
    if until > LAST_MINUTE:
        raise Refused("That day would run past midnight.")
    return [*before, (start, time(until // 60, until % 60))]


def _closed(change: Change, now: datetime, by: User | None) -> None:
    first, last = date.fromisoformat(change["first"]), date.fromisoformat(change["last"])
    close_day(date=first, until=last, now=now, by=by)


def _pin(change: Change, now: datetime, by: User | None) -> None:
    key = str(change["task"])
    mark = chosen_work(key, opening_times()).mark
    keep_move(key=key, monday=date.fromisoformat(change["monday"]), mark=mark, now=now, by=by)


def _taken_in(change: Change, now: datetime, by: User | None) -> None:
    build = Build.objects.filter(pk=change["build"]).first()
    if build is None:
        raise Gone("That build is not there any more.")
    day = date.fromisoformat(change["day"])
    if build.arrives_on != day:
        build = change_build(build=build, changes={"arrives_on": day}, now=now, by=by)
    agree(build=build, now=now, by=by)


def _late(change: Change, now: datetime, by: User | None) -> None:
    about = {"expected_on": date.fromisoformat(change["day"]), "now": now, "by": by}
    if "order" not in change:
        change_date(delivery=_delivery(change), **about)
        return
    order = Order.objects.filter(pk=change["order"]).first()
    if order is None:
        raise Gone("That order is not there any more.")
    change_order_day(order=order, **about)


def _without(change: Change, now: datetime, by: User | None) -> None:
    change_delivery(delivery=_delivery(change), fields={}, tasks=[], now=now, by=by)


def _first(change: Change, now: datetime, by: User | None) -> None:
    """Is in the order that the copy leaves behind; nothing else says it."""


def _person(change: Change) -> Person:
    person = Person.objects.working().filter(pk=change["person"]).first()
    if person is None:
        raise Gone("That person does not work here any more.")
    return person


def _delivery(change: Change) -> Delivery:
    delivery = Delivery.objects.filter(pk=change["delivery"]).first()
    if delivery is None:
        raise Gone("That delivery was taken off in the meantime.")
    if delivery.arrived_on is not None:
        raise Refused("It has arrived in the meantime.")
    return delivery


_ACTIONS: dict[str, Callable[[Change, datetime, User | None], None]] = {
    "away": _away,
    "longer": _longer,
    "closed": _closed,
    "pin": _pin,
    "taken in": _taken_in,
    "late": _late,
    "without": _without,
    "first": _first,
}
