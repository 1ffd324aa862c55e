"""What is on its way for a build: expected, arrived, found and put on the kit shelf."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal

from builds.actions.arriving import arrive, is_in_stock, refuse_change_of_stock, take_back_arrival
from builds.actions.arriving import save as _save
from builds.actions.checked import check_day, day_words, fresh, put_fields
from builds.actions.door import Refused, check_version, note_in_journal, write
from builds.models import Build, Delivery, Material, Supplier, Task, User
from builds.queries.opening import opening_times


def expect_delivery(
    *,
    build: Build | None,
    what: str,
    expected_on: date,
    tasks: Iterable[Task] = (),
    supplier: Supplier | None = None,
    material: Material | None = None,
    quantity: Decimal | None = None,
    from_customer: bool = False,
    note: str = "",
    now: datetime,
    by: User | None,
) -> Delivery:
    """Says that something is to come, and which of the build's tasks wait for it.

    The tasks start the day after `expected_on` at the earliest. The very same delivery entered twice
    is one. Refused when a task is another build's.
    """
    fields = {
        "what": what,
        "supplier": supplier,
        "material": material,
        "quantity": quantity,
        "from_customer": from_customer,
        "note": note,
    }
    with write():
        delivery = Delivery(build=build, expected_on=check_day(expected_on, "expected_on"))
        delivery.first_expected_on = expected_on
        _put_delivery(delivery, fields)
        waiting = tasks_of(build, tasks)
        known = _the_same(delivery, waiting)
        if known is not None:
            return known
        delivery.save()
        delivery.tasks.set(waiting)
        note_in_journal(f"Expects {delivery.what} on {day_words(expected_on)}", now=now, by=by, build=build)
    return delivery


def change_delivery(
    *,
    delivery: Delivery,
    fields: dict[str, object],
    tasks: Iterable[Task] | None = None,
    version: int | None = None,
    now: datetime,
    by: User | None,
) -> Delivery:
    """Changes what comes (what, supplier, material, quantity, from_customer, note, expected_on), and which
    tasks wait for it."""
    fields = dict(fields)
    with write():
        row = _now(delivery, version)
        if "expected_on" in fields:
            _move(row, fields.pop("expected_on"), now, by)
        refuse_change_of_stock(row, fields)
        _put_delivery(row, fields)
        _save(row)
        if tasks is not None:
            row.tasks.set(tasks_of(row.build, tasks))
        note_in_journal(f"Changed the delivery of {row.what}", now=now, by=by, build=row.build)
    return row


def change_date(
    *, delivery: Delivery, expected_on: date, version: int | None = None, now: datetime, by: User | None
) -> Delivery:
    """Moves the day a delivery is expected; the first day it was expected stays on record."""
    with write():
        row = _now(delivery, version)
        if _move(row, expected_on, now, by):
            _save(row)
    return row


def _move(row: Delivery, expected_on: date, now: datetime, by: User | None) -> bool:
    check_day(expected_on, "expected_on")
    if row.expected_on == expected_on:
        return False
    if row.arrived_on is not None:
        raise Refused("It is here already.", field="expected_on")
    words = f"{row.what} now comes {day_words(expected_on)}, not {day_words(row.expected_on)}"
    row.expected_on = expected_on
    note_in_journal(words, now=now, by=by, build=row.build)
    return True


def arrived(
    *, delivery: Delivery, on: date | None = None, version: int | None = None, now: datetime, by: User | None
) -> Delivery:
    """Says that it came (today unless `on`). Whether it is right and on the shelf is another thing."""
    with write() as shop:
        row = _now(delivery, version)
        day = _day_so_far(on, shop, now)
        if row.arrived_on is None:
            arrive(row, day, now=now, by=by)
            note_in_journal(f"{row.what} arrived", now=now, by=by, build=row.build)
    return row


def put_on_shelf(
    *, delivery: Delivery, on: date | None = None, version: int | None = None, now: datetime, by: User | None
) -> Delivery:
    """Says that it was found and lies on its van's kit shelf; what had not arrived has now."""
    with write() as shop:
        row = _now(delivery, version)
        day = _day_so_far(on, shop, now)
        if row.arrived_on is not None and day < row.arrived_on:
            raise Refused("It came later than that.", field="on")
        if row.on_shelf_on is None:
            if row.arrived_on is None:
                arrive(row, day, now=now, by=by)
            row.on_shelf_on = day
            _save(row)
            note_in_journal(f"{row.what} is on the kit shelf", now=now, by=by, build=row.build)
    return row


def not_here_after_all(
    *, delivery: Delivery, version: int | None = None, now: datetime, by: User | None
) -> Delivery:
    """Takes back that it arrived, and with it that it is on the shelf: the wrong box, or broken."""
    with write():
        row = _now(delivery, version)
        if row.arrived_on is not None or row.on_shelf_on is not None:
            take_back_arrival(row, now=now, by=by)
            note_in_journal(f"{row.what} is not here after all", now=now, by=by, build=row.build)
    return row


def cancel_delivery(
    *, delivery: Delivery, version: int | None = None, now: datetime, by: User | None
) -> None:
    """Takes a delivery off: it was never ordered, or is not needed. Its tasks wait for it no more."""
    with write():
        row = _now(delivery, version)
        if is_in_stock(row):
            take_back_arrival(row, now=now, by=by)
        words, build = f"Took off the delivery of {row.what}", row.build
        row.delete()
        note_in_journal(words, now=now, by=by, build=build)


def tasks_of(build: Build | None, tasks: Iterable[Task]) -> list[Task]:
    """The tasks as they stand; refused when one is not the build's, or was taken out."""
    wanted = {task.pk for task in tasks}
    found = list(Task.objects.kept().filter(build=build, pk__in=wanted)) if wanted and build else []
    if len(found) != len(wanted):
        raise Refused("One of these tasks is not this van's, or was taken out.", field="tasks")
    return found


def _put_delivery(delivery: Delivery, fields: dict[str, object]) -> None:
    names = ("what", "supplier", "material", "quantity", "from_customer", "note")
    put_fields(delivery, fields, names)
    if not delivery.what:
        raise Refused("Say what comes.", field="what")
    if delivery.quantity is not None and delivery.quantity <= 0:
        raise Refused("How much must be more than nothing.", field="quantity")
    if delivery.from_customer and delivery.supplier is not None:
        raise Refused("It comes from the customer or from a supplier, not both.", field="supplier")


def _the_same(delivery: Delivery, tasks: list[Task]) -> Delivery | None:
    names = ("build", "what", "expected_on", "supplier", "material", "quantity", "from_customer", "note")
    rows = Delivery.objects.filter(arrived_on=None, **{name: getattr(delivery, name) for name in names})
    wanted = {task.pk for task in tasks}
    return next((r for r in rows if set(r.tasks.values_list("pk", flat=True)) == wanted), None)


def _now(delivery: Delivery, version: int | None) -> Delivery:
    row = fresh(Delivery, delivery)
    check_version(row, version)
    return row


def _day_so_far(on: date | None, shop, now: datetime) -> date:
    today = opening_times(shop).day_of(now)
    return check_day(on or today, "on", not_after=today)
