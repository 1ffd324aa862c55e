"""What if a whole order came on another day: tried, kept, and refused once some of it has come."""

from __future__ import annotations

from datetime import date

import pytest

from builds.actions import what_if
from builds.actions.deliveries import arrived
from builds.actions.door import Refused
from builds.actions.orders import make_order, send_order
from builds.actions.planning import replan
from builds.models import Delivery, PlanState, Shop
from builds.queries.what_if import what_if_page
from tests.cast import NOW
from tests.orders_cast import PAPER, Yard
from tests.what_if_cast import days_of, everything


@pytest.fixture
def yard(shop, joiner, owner):
    yard = Yard(owner)
    yard.needs(yard.heron, yard.primer, "3 l")
    yard.needs(yard.teal, yard.primer, "3 l")
    yard.plan()
    return yard


@pytest.fixture
def late(yard):
    """The order of both vans' primer, expected a week from now, tried three weeks later."""
    made = make_order(supplier=yard.supplier, now=NOW, by=yard.owner)
    order = send_order(order=made, sent_on=date(2027, 3, 1), paper=PAPER, now=NOW, by=yard.owner)
    replan(now=NOW)
    return {"kind": "late", "order": order.pk, "day": "2027-03-29", "words": "Order 1: to come Mon 29 Mar"}


def test_a_whole_order_is_offered(late):
    offered = what_if_page(None, NOW, shop=Shop.objects.get()).to_try

    assert offered.orders == (
        (f"order-{late['order']}", "Order 1 from Quay Coatings (2 things), due Mon 8 Mar"),
    )
    assert len(offered.deliveries) == 2


def test_what_a_customer_brings_is_offered_as_theirs(late):
    Delivery.objects.update(supplier=None, from_customer=True)

    ((_, words),) = what_if_page(None, NOW, shop=Shop.objects.get()).to_try.orders

    assert words == "Order 1 from the customer (2 things), due Mon 8 Mar"


def test_trying_writes_nothing_and_moves_what_waits_for_it(late):
    before = everything()

    copy = what_if.try_change(change=late, now=NOW)

    assert everything() == before
    assert days_of(copy.result) != {v: a for v, a, _ in copy.result["vans"]}


def test_kept_all_that_is_still_to_come_moves_and_the_plan_is_the_one_shown(late):
    copy = what_if.try_change(change=late, now=NOW)

    what_if.keep_copy(mark=copy.mark, now=NOW, by=None)
    replan(now=NOW)

    assert set(Delivery.objects.values_list("expected_on", flat=True)) == {date(2027, 3, 29)}
    assert {int(b): at for b, at in PlanState.objects.get().handovers.items()} == days_of(copy.result)


def test_once_some_of_it_has_come_it_is_refused(late):
    copy = what_if.try_change(change=late, now=NOW)
    arrived(delivery=Delivery.objects.first(), now=NOW, by=None)
    copy = what_if.bring_up_to_date(shop=Shop.objects.get(), now=NOW)

    with pytest.raises(Refused, match="changed meanwhile"):
        what_if.keep_copy(mark=copy.mark, now=NOW, by=None)

    for delivery in Delivery.objects.filter(arrived_on=None):
        arrived(delivery=delivery, now=NOW, by=None)
    copy = what_if.bring_up_to_date(shop=Shop.objects.get(), now=NOW)
    with pytest.raises(Refused, match="it has come"):
        what_if.keep_copy(mark=copy.mark, now=NOW, by=None)


def test_the_form_takes_a_whole_order(late, owner_client):
    data = {"kind": "late", "late-delivery": f"order-{late['order']}", "late-day": "2027-03-29"}
    wrong = data | {"late-delivery": "order-987654"}

    assert owner_client.post("/what-if/try/", wrong).status_code == 422
    assert "Order 1 from Quay Coatings (2 things), due Mon 8 Mar" in owner_client.get("/what-if/").text
    assert owner_client.post("/what-if/try/", data).status_code == 302
    (change,) = what_if.open_copy().changes
    assert change["order"] == late["order"]
    assert change["words"] == "Order 1 from Quay Coatings (2 things): to come Mon 29 Mar"
