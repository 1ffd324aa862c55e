"""Orders: made of what is left, changed as drafts, sent and frozen, called off."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from builds.actions import materials, stock
from builds.actions.door import Refused, Stale
from builds.actions.orders import (
    add_line,
    change_order,
    drop_order,
    make_order,
    send_order,
)
from builds.models import Delivery, Order, Shop
from builds.queries.material_totals import material_totals
from tests.cast import NOW
from tests.orders_cast import PAPER, Yard

TODAY = date(2027, 3, 1)


@pytest.fixture
def yard(shop, joiner, owner):
    yard = Yard(owner)
    yard.needs(yard.heron, yard.primer, "3 l")
    yard.needs(yard.teal, yard.primer, "1.5 l")
    yard.plan()
    return yard


def make(yard, **more) -> Order:
    return make_order(**({"supplier": yard.supplier, "now": NOW, "by": yard.owner} | more))


def send(order, yard, **more) -> Order:
    asked = {"sent_on": TODAY, "paper": PAPER, "now": NOW, "by": yard.owner} | more
    return send_order(order=order, **asked)


def change_packs(order, yard, packs: int, **more) -> Order:
    wanted = {order.lines.get().pk: packs}
    return change_order(order=order, packs=wanted, now=NOW, by=yard.owner, **more)


def left_of(material) -> Decimal:
    builds = [need.build for need in material.needs.select_related("build")]
    totals = material_totals(builds, NOW, shop=Shop.objects.get())
    return sum((need.left for line in totals.lines for need in line.needs), Decimal(0))


def coming() -> list[tuple]:
    rows = Delivery.objects.order_by("pk")
    return [(str(row.build or "stock"), row.quantity, row.expected_on) for row in rows]


def test_an_order_takes_what_is_left_over_all_vans_in_whole_packs(yard):
    order = make(yard)

    line = order.lines.get()
    assert (line.name, line.packs, line.pack, line.price) == ("Primer", 2, Decimal("2.5"), Decimal("38.50"))
    assert [(s.build.name, s.quantity) for s in line.shares.all()] == [
        ("Heron", Decimal(3)),
        ("Teal", Decimal("1.5")),
    ]
    assert order.vat_level == Shop.objects.get().vat_level


def test_what_stands_in_a_draft_is_not_to_order_again(yard):
    make(yard)

    assert left_of(yard.primer) == 0
    with pytest.raises(Refused, match="Nothing of that is left"):
        make(yard)


def test_the_same_form_twice_makes_one_order(yard):
    token = uuid4()

    assert make(yard, token=token) == make(yard, token=token)
    assert Order.objects.count() == 1


def test_sending_expects_a_delivery_for_each_van_and_the_rest_for_stock(yard):
    send(make(yard), yard)

    week_on = TODAY + timedelta(days=7)
    assert coming() == [
        ("Heron", Decimal("3.000"), week_on),
        ("Teal", Decimal("1.500"), week_on),
        ("stock", Decimal("0.500"), week_on),
    ]
    heron = Delivery.objects.get(build=yard.heron)
    assert list(heron.tasks.all()) == [yard.task_of(yard.heron)]
    assert left_of(yard.primer) == 0


def test_a_sent_order_makes_the_plan_anew(yard):
    before = Shop.objects.get().revision

    send(make(yard), yard)

    assert Shop.objects.get().revision > before


def test_what_was_sent_is_frozen(yard):
    order = send(make(yard), yard)

    assert order.frozen_html == PAPER[0]
    with pytest.raises(Refused, match="stays as it is"):
        change_packs(order, yard, 5)
    with pytest.raises(Refused, match="stays as it is"):
        send(order, yard)


def test_fewer_packs_leave_the_last_van_short(yard):
    order = make(yard)
    change_packs(order, yard, 1)

    assert left_of(yard.primer) == Decimal(2)
    send(order, yard)
    assert [(van, quantity) for van, quantity, _ in coming()] == [("Heron", Decimal("2.500"))]


@pytest.mark.parametrize("packs", [-3, 10001])
def test_a_number_of_packs_that_can_not_be_is_refused(yard, packs):
    order = make(yard)

    with pytest.raises(Refused):
        change_packs(order, yard, packs)


def test_a_withdrawn_material_is_not_ordered(yard):
    draft = make(yard)
    materials.withdraw_material(material=yard.primer, now=NOW, by=yard.owner)

    with pytest.raises(Refused, match="Primer is withdrawn"):
        send(draft, yard)
    drop_order(order=draft, now=NOW, by=yard.owner)
    with pytest.raises(Refused, match="Primer is withdrawn"):
        make(yard)
    assert not Delivery.objects.exists()


def test_something_for_stock_is_added_to_a_draft_once(yard):
    order = make(yard)
    add_line(order=order, material=yard.discs, packs=1, now=NOW, by=yard.owner)

    with pytest.raises(Refused, match="already"):
        add_line(order=order, material=yard.discs, packs=1, now=NOW, by=yard.owner)
    send(order, yard)
    assert coming()[-1][:2] == ("stock", Decimal("50.000"))


def test_a_line_taken_out_is_to_order_again(yard):
    order = make(yard)

    change_packs(order, yard, 0)

    assert left_of(yard.primer) == Decimal("4.5")
    with pytest.raises(Refused, match="nothing in this order"):
        send(order, yard)


def test_a_draft_changed_by_somebody_else_is_not_sent(yard):
    order = make(yard)
    seen = order.version
    change_packs(order, yard, 4, version=seen)

    with pytest.raises(Stale):
        send(order, yard, version=seen)


@pytest.mark.parametrize(
    ("dates", "field"),
    [
        ({"sent_on": TODAY + timedelta(days=1)}, "sent_on"),
        ({"expected_on": TODAY - timedelta(days=1)}, "expected_on"),
        ({"expected_on": date(2031, 1, 1)}, "expected_on"),
    ],
)
def test_dates_that_can_not_be_are_refused(yard, dates, field):
    with pytest.raises(Refused) as refusal:
        send(make(yard), yard, **dates)

    assert refusal.value.field == field


def test_an_order_called_off_is_to_order_again(yard):
    order = send(make(yard), yard)

    drop_order(order=order, now=NOW, by=yard.owner)

    assert (Order.objects.get().state, left_of(yard.primer)) == ("dropped", Decimal("4.5"))
    assert not Delivery.objects.exists()


def test_stock_goes_to_who_uses_it_first_and_counts_once(yard):
    stock.count_stock(material=yard.primer, quantity="2 l", now=NOW, by=yard.owner)

    totals = material_totals([yard.heron, yard.teal], NOW, shop=Shop.objects.get())

    by_van = {need.build: (need.from_stock, need.left) for need in totals.lines[0].needs}
    assert by_van == {"Heron": (Decimal(2), Decimal(1)), "Teal": (Decimal(0), Decimal("1.5"))}
    alone = material_totals([yard.teal], NOW, shop=Shop.objects.get())
    assert alone.lines[0].needs[0].left == Decimal("1.5")


def test_what_is_taken_from_stock_for_a_van_is_its_own(yard):
    stock.count_stock(material=yard.primer, quantity="2 l", now=NOW, by=yard.owner)
    stock.take_from_stock(material=yard.primer, quantity="2 l", build=yard.teal, now=NOW, by=yard.owner)

    totals = material_totals([yard.heron, yard.teal], NOW, shop=Shop.objects.get())

    by_van = {need.build: (need.own, need.from_stock, need.left) for need in totals.lines[0].needs}
    assert by_van == {
        "Heron": (Decimal(0), Decimal(0), Decimal(3)),
        "Teal": (Decimal("1.5"), Decimal(0), Decimal(0)),
    }


def test_stock_under_its_level_is_topped_up_with_the_next_order(yard):
    fields = {"reorder_level": Decimal(20), "top_up_to": Decimal(120)}
    materials.change_material(material=yard.discs, fields=fields, now=NOW, by=yard.owner)
    stock.count_stock(material=yard.discs, quantity="15", now=NOW, by=yard.owner)

    line = make(yard).lines.get(material=yard.discs)

    assert (line.packs, line.shares.count()) == (3, 0)


def test_stock_at_its_level_is_enough(yard):
    fields = {"reorder_level": Decimal(20), "top_up_to": Decimal(120)}
    materials.change_material(material=yard.discs, fields=fields, now=NOW, by=yard.owner)
    stock.count_stock(material=yard.discs, quantity="20", now=NOW, by=yard.owner)

    assert not make(yard).lines.filter(material=yard.discs).exists()


def test_an_order_has_at_least_the_packs_the_supplier_asks_for(yard):
    materials.change_material(material=yard.primer, fields={"least_packs": 6}, now=NOW, by=yard.owner)

    assert make(yard).lines.get().packs == 6


def test_what_a_customer_brings_is_asked_for_without_price_or_packs(yard):
    yard.needs(yard.heron, yard.discs, "3", customer_supplies=True)
    yard.needs(yard.heron, yard.primer, "1.2 l", customer_supplies=True)

    order = make_order(customer_of=yard.heron, now=NOW, by=yard.owner)

    lines = [(line.name, line.packs, line.pack, line.price) for line in order.lines.all()]
    assert lines == [("Primer", 1, Decimal("1.200"), 0), ("Discs", 3, Decimal(1), 0)]
    send(order, yard, expected_on=TODAY)
    assert all(d.from_customer and d.build == yard.heron for d in Delivery.objects.all())
