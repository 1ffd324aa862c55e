"""Booking in what came of an order: whole or in part, damaged or short; nothing is booked twice."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from uuid import UUID

from builds.actions.arriving import arrive, save, take_back_arrival
from builds.actions.checked import check_day, fresh
from builds.actions.door import Gone, Refused, check_version, note_in_journal, write
from builds.actions.orders import expect_part, tasks_waiting
from builds.engines.material.reckoning import packs_for
from builds.engines.material.sharing import shared_out
from builds.models import Delivery, Order, OrderLine, Receipt, User
from builds.queries.opening import opening_times

NONE = Decimal(0)


@dataclass(frozen=True, slots=True)
class Came:
    """What came of a line, in packs: `good`, `damaged`, and `missing`, which won't come any more.

    Damaged packs are still to come, as new ones, unless they are among the missing.
    """

    good: int = 0
    damaged: int = 0
    missing: int = 0

    def __bool__(self) -> bool:
        return bool(self.good or self.damaged or self.missing)


def book_in(
    *,
    order: Order,
    came: Mapping[int, Came],
    came_on: date | None = None,
    rest_on: date | None = None,
    note: str = "",
    version: int | None = None,
    token: UUID | None = None,
    now: datetime,
    by: User | None,
) -> list[Receipt]:
    """Books what came of an order by line; `rest_on` is when the rest comes.

    Vans get what came in the order of their first use, what is over goes into stock. The same form twice
    books once; a form made before somebody else booked is refused as stale.
    """
    with write() as shop:
        known = list(Receipt.objects.filter(form_token=token, line__order=order)) if token else []
        if known:
            return known
        row = _sent(order, version)
        today = opening_times(shop).day_of(now)
        day = check_day(came_on or today, "came_on", not_after=today)
        if day < row.sent_on:
            raise Refused("It was not even ordered then.", field="came_on")
        if rest_on is not None and check_day(rest_on, "rest_on") < day:
            raise Refused("The rest comes later than what came.", field="rest_on")
        lines = {line.pk: line for line in row.lines.select_related("material", "order")}
        found = {pk: what for pk, what in came.items() if what}
        if not found:
            raise Refused("Say how many came, or that some won’t come.")
        made = []
        for pk, what in found.items():
            if pk not in lines:
                raise Gone("One of these lines is not there any more.")
            made.append(_book(lines[pk], what, day, rest_on, note, token, now, by))
        row.version += 1
        row.save(update_fields=["version"])
        note_in_journal(f"Booked in {_words(made)} of {row}", now=now, by=by, build=row.build)
    return made


def _sent(order: Order, version: int | None) -> Order:
    row = fresh(Order, order)
    check_version(row, version)
    if row.state != "sent":
        raise Refused(f"{row} is {row.get_state_display()}: nothing can come of it.")
    return row


def _book(line: OrderLine, what: Came, day: date, rest_on, note: str, token, now, by) -> Receipt:
    waiting = list(line.deliveries.filter(arrived_on=None).order_by("pk"))
    packs = open_packs(line, waiting)
    if min(what.good, what.damaged, what.missing) < 0:
        raise Refused("There can’t be less than none.", field=f"good-{line.pk}")
    if what.good + what.missing > packs:
        words = "Nothing" if not packs else f"Only {packs}"
        raise Refused(
            f"{words} of {line.name} {'is' if packs < 2 else 'are'} still to come. "
            "Count into stock what came beyond it.",
            field=f"good-{line.pk}",
        )
    receipt = Receipt.objects.create(
        line=line,
        came_on=day,
        good=what.good,
        damaged=what.damaged,
        missing=what.missing,
        note=note.strip()[:200],
        at=now,
        by=by,
        form_token=token,
    )
    rest = _take_in(line, waiting, what.good * line.pack, receipt, day, now, by)
    rest = _call_off(rest, what.missing * line.pack)
    if rest_on is not None:
        for row in rest:
            row.expected_on = rest_on
            save(row)
    return receipt


def open_packs(line: OrderLine, waiting: Iterable[Delivery]) -> int:
    """How many packs are still to come."""
    return packs_for(sum((row.quantity or NONE for row in waiting), NONE), line.pack)


def _take_in(line, waiting: list[Delivery], quantity: Decimal, receipt, day, now, by) -> list[Delivery]:
    """Marks what came of the waiting deliveries; gives those still to come."""
    got, over = shared_out(quantity, [(row, row.quantity) for row in waiting])
    for row, share in got:
        if share == row.quantity:
            arrive(row, day, receipt=receipt, now=now, by=by)
        else:
            arrive(_part_of(row, share), day, receipt=receipt, now=now, by=by)
    if over:
        arrive(expect_part(line, None, over, day), day, receipt=receipt, now=now, by=by)
    return [row for row in waiting if row.arrived_on is None]


def _part_of(row: Delivery, quantity: Decimal) -> Delivery:
    """Splits a delivery: what came becomes one of its own, the rest is still waited for."""
    part = expect_part(row.line, row.build_id, quantity, row.expected_on)
    part.first_expected_on = row.first_expected_on
    part.tasks.set(row.tasks.all())
    row.quantity -= quantity
    save(row)
    return part


def _call_off(waiting: list[Delivery], quantity: Decimal) -> list[Delivery]:
    """Takes off what won't come, the last to use it first; gives what is still to come."""
    kept = []
    for row in reversed(waiting):
        less = min(quantity, row.quantity)
        quantity -= less
        if less == row.quantity:
            row.delete()
            continue
        if less:
            row.quantity -= less
            save(row)
        kept.append(row)
    return kept


def take_back(
    *, order: Order, receipt: Receipt, version: int | None = None, now: datetime, by: User | None
) -> Receipt:
    """Takes one booking back: what it said came is waited for again, what it called off too.

    It stays on record. What was on a kit shelf is not there any more; what went into stock is taken out.
    """
    with write():
        row = _sent(order, version)
        found = row_of(row, receipt)
        if found.taken_back_at is not None:
            return found
        for delivery in Delivery.objects.filter(receipt=found).select_related("material"):
            take_back_arrival(delivery, now=now, by=by)
        _expect_again(found)
        found.taken_back_at = now
        found.save(update_fields=["taken_back_at"])
        row.version += 1
        row.save(update_fields=["version"])
        note_in_journal(f"Took back a booking of {found.line.name}, {row}", now=now, by=by, build=row.build)
    return found


def row_of(order: Order, receipt: Receipt) -> Receipt:
    found = Receipt.objects.select_related("line__material", "line__order").filter(
        pk=receipt.pk, line__order=order
    )
    row = found.first()
    if row is None:
        raise Gone("That booking is not there any more.")
    return row


def _expect_again(receipt: Receipt) -> None:
    """Expects what was called off again, for the vans that lack it."""
    line, quantity = receipt.line, receipt.missing * receipt.line.pack
    if not quantity:
        return
    have: dict[int | None, Decimal] = {}
    for build, amount in line.deliveries.values_list("build_id", "quantity"):
        have[build] = have.get(build, NONE) + amount
    wanted = [
        (share.build_id, max(NONE, share.quantity - have.get(share.build_id, NONE)))
        for share in line.shares.order_by("pk")
    ]
    shares, over = shared_out(quantity, wanted)
    for build, amount in [*shares, *([(None, over)] if over else [])]:
        again = expect_part(line, build, amount, receipt.came_on)
        if build is not None:
            again.tasks.set(tasks_waiting(build, line.material, again.from_customer))


def _words(receipts: Iterable[Receipt]) -> str:
    parts = [f"{r.good} {r.line.name}" for r in receipts if r.good]
    return ", ".join(parts) or "what won’t come or came damaged"
