"""Booking in: whole, in part, damaged, short; nothing twice, and every booking can be taken back."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from builds.actions.deliveries import arrived, cancel_delivery, not_here_after_all, put_on_shelf
from builds.actions.door import Refused, Stale
from builds.actions.orders import drop_order, make_order, send_order
from builds.actions.receipts import Came, book_in, take_back
from builds.actions.stock import on_hand
from builds.models import Delivery, Order, Receipt, Shop
from builds.queries.material_totals import material_totals
from tests.cast import NOW
from tests.orders_cast import PAPER, Yard

TODAY = date(2027, 3, 1)
LATER = TODAY + timedelta(days=12)


@pytest.fixture
def yard(shop, joiner, owner):
    yard = Yard(owner)
    yard.needs(yard.heron, yard.primer, "3 l")
    yard.needs(yard.teal, yard.primer, "3.5 l")
    yard.plan()
    return yard


@pytest.fixture
def order(yard) -> Order:
    """Three tins of 2.5 l: 3 l for Heron, 3.5 l for Teal, 1 l for stock."""
    made = make_order(supplier=yard.supplier, now=NOW, by=yard.owner)
    return send_order(order=made, sent_on=TODAY, paper=PAPER, now=NOW, by=yard.owner)


def book(order, yard, *, good=0, damaged=0, missing=0, **more):
    came = {order.lines.get().pk: Came(good, damaged, missing)}
    return book_in(order=order, came=came, now=NOW, by=yard.owner, **more)


def rows() -> list[tuple]:
    found = Delivery.objects.order_by("arrived_on", "pk")
    return sorted((str(r.build or "stock"), r.quantity, bool(r.arrived_on)) for r in found)


def litres(text: str) -> Decimal:
    return Decimal(text).quantize(Decimal("0.001"))


def left(yard) -> Decimal:
    totals = material_totals([yard.heron, yard.teal], NOW, shop=Shop.objects.get())
    return sum((need.left for need in totals.lines[0].needs), Decimal(0))


def test_a_whole_delivery_is_here_for_each_van_and_the_rest_in_stock(order, yard):
    book(order, yard, good=3)

    assert rows() == [
        ("Heron", litres("3"), True),
        ("Teal", litres("3.5"), True),
        ("stock", litres("1"), True),
    ]
    assert on_hand(yard.primer) == litres("1")
    assert Delivery.objects.get(build=yard.heron).on_shelf_on is None


def test_a_part_goes_to_who_uses_it_first_and_the_rest_is_waited_for(order, yard):
    book(order, yard, good=2, rest_on=LATER)

    assert rows() == [
        ("Heron", litres("3"), True),
        ("Teal", litres("1.5"), False),
        ("Teal", litres("2"), True),
        ("stock", litres("1"), False),
    ]
    waiting = Delivery.objects.filter(arrived_on=None)
    assert {row.expected_on for row in waiting} == {LATER}
    assert list(waiting.get(build=yard.teal).tasks.all()) == [yard.task_of(yard.teal)]
    assert left(yard) == 0


def test_damaged_packs_are_still_to_come(order, yard):
    book(order, yard, good=2, damaged=1, note="dented")

    receipt = Receipt.objects.get()
    assert (receipt.good, receipt.damaged, receipt.note) == (2, 1, "dented")
    assert sum(r.quantity for r in Delivery.objects.filter(arrived_on=None)) == litres("2.5")


def test_what_will_not_come_is_to_order_again(order, yard):
    book(order, yard, good=1, missing=2)

    assert rows() == [("Heron", litres("2.5"), True)]
    assert left(yard) == litres("4")


def test_the_same_form_twice_books_once(order, yard):
    token = uuid4()

    first = book(order, yard, good=2, token=token)
    second = book(order, yard, good=2, token=token)

    assert first == second
    assert Receipt.objects.count() == 1
    assert sum(r.quantity for r in Delivery.objects.exclude(arrived_on=None)) == litres("5")


def test_two_people_booking_one_delivery_book_it_once(order, yard):
    seen = order.version
    book(order, yard, good=3, version=seen, token=uuid4())

    with pytest.raises(Stale):
        book(order, yard, good=3, version=seen, token=uuid4())
    with pytest.raises(Refused, match="Nothing of Primer is still to come"):
        book(order, yard, good=1)
    assert Receipt.objects.count() == 1


@pytest.mark.parametrize("what", [{"good": 4}, {"good": 2, "missing": 2}, {"good": -1}, {}])
def test_more_than_was_ordered_or_nothing_is_refused(order, yard, what):
    with pytest.raises(Refused):
        book(order, yard, **what)

    assert not Receipt.objects.exists()
    assert not Delivery.objects.exclude(arrived_on=None).exists()


@pytest.mark.parametrize(
    ("dates", "field"),
    [
        ({"came_on": TODAY + timedelta(days=1)}, "came_on"),
        ({"came_on": TODAY - timedelta(days=1)}, "came_on"),
        ({"rest_on": TODAY - timedelta(days=1)}, "rest_on"),
    ],
)
def test_days_that_can_not_be_are_refused(order, yard, dates, field):
    with pytest.raises(Refused) as refusal:
        book(order, yard, good=1, **dates)

    assert refusal.value.field == field


def test_a_draft_brings_nothing(yard):
    draft = make_order(supplier=yard.supplier, now=NOW, by=yard.owner)

    with pytest.raises(Refused, match="not sent yet"):
        book(draft, yard, good=1)


def test_a_booking_taken_back_waits_again_and_stays_on_record(order, yard):
    receipt = book(order, yard, good=2, missing=1)[0]

    take_back(order=order, receipt=receipt, now=NOW, by=yard.owner)
    take_back(order=order, receipt=receipt, now=NOW, by=yard.owner)

    assert not Delivery.objects.exclude(arrived_on=None).exists()
    assert sum(r.quantity for r in Delivery.objects.all()) == litres("7.5")
    assert Receipt.objects.get().taken_back_at is not None
    assert left(yard) == 0
    book(order, yard, good=3)
    assert on_hand(yard.primer) == litres("1")


def test_stock_booked_by_mistake_is_taken_out_again(order, yard):
    receipt = book(order, yard, good=3)[0]

    take_back(order=order, receipt=receipt, now=NOW, by=yard.owner)

    assert on_hand(yard.primer) == 0


def test_a_delivery_of_an_order_can_be_booked_on_its_own_too(order, yard):
    heron = Delivery.objects.get(build=yard.heron)
    arrived(delivery=heron, now=NOW, by=yard.owner)

    with pytest.raises(Refused, match="Only 2 of Primer are still to come"):
        book(order, yard, good=3)
    put_on_shelf(delivery=heron, now=NOW, by=yard.owner)
    assert Delivery.objects.get(pk=heron.pk).on_shelf_on == TODAY


def test_what_came_for_stock_leaves_it_when_it_is_not_here_after_all(order, yard):
    row = Delivery.objects.get(build=None)
    arrived(delivery=row, now=NOW, by=yard.owner)
    put_on_shelf(delivery=row, now=NOW, by=yard.owner)
    assert on_hand(yard.primer) == litres("1")

    not_here_after_all(delivery=row, now=NOW, by=yard.owner)
    assert on_hand(yard.primer) == 0

    arrived(delivery=row, now=NOW, by=yard.owner)
    cancel_delivery(delivery=row, now=NOW, by=yard.owner)
    assert on_hand(yard.primer) == 0


def test_calling_the_rest_off_keeps_what_came(order, yard):
    book(order, yard, good=1)

    drop_order(order=order, now=NOW, by=yard.owner)

    assert rows() == [("Heron", litres("2.5"), True)]
    assert Order.objects.get().state == "sent"
    with pytest.raises(Refused, match="All of it"):
        drop_order(order=order, now=NOW, by=yard.owner)
