"""What a delivery's coming does: for a van it waits for its kit shelf, for the shop it goes into stock."""

from __future__ import annotations

from datetime import date, datetime

from builds.actions.door import Refused
from builds.actions.stock import book
from builds.models import Delivery, Receipt, User


def arrive(
    row: Delivery, day: date, *, receipt: Receipt | None = None, now: datetime, by: User | None
) -> None:
    """Marks it as here and saves it. Call inside a write."""
    row.arrived_on = day
    row.receipt = receipt
    if is_for_stock(row):
        row.on_shelf_on = day
    save(row)
    if is_for_stock(row):
        book(row.material, row.quantity, "came", delivery=row, why=row.what, now=now, by=by)


def take_back_arrival(row: Delivery, *, now: datetime, by: User | None) -> None:
    """Marks it as not here and saves it; what it put into stock is taken out again. Call inside a write."""
    if is_in_stock(row):
        book(
            row.material, -row.quantity, "undone", delivery=row, why=f"{row.what} is not here", now=now, by=by
        )
    row.arrived_on = row.on_shelf_on = row.receipt = None
    save(row)


def refuse_change_of_stock(row: Delivery, fields: dict[str, object]) -> None:
    """What is in stock is corrected by a count, not by changing how much came."""
    changed = [n for n in ("material", "quantity") if n in fields and fields[n] != getattr(row, n)]
    if changed and is_in_stock(row):
        raise Refused("It is in stock already. Count the stock instead.", field=changed[0])


def is_for_stock(row: Delivery) -> bool:
    return row.build_id is None and row.material_id is not None and row.quantity is not None


def is_in_stock(row: Delivery) -> bool:
    return is_for_stock(row) and row.arrived_on is not None


def save(row: Delivery) -> None:
    row.version += 1
    row.save()
