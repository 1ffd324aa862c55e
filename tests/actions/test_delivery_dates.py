"""Another day for a delivery: the handovers it touches, before and after, and keeping it."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from builds.actions.delivery_dates import change_order_day, look_at_day
from builds.actions.door import Refused, Stale
from builds.actions.orders import make_order, send_order
from builds.actions.planning import replan
from builds.actions.receipts import Came, book_in
from builds.models import Delivery, PlanState, Shop
from tests.cast import NOW
from tests.orders_cast import PAPER, Yard

TODAY = date(2027, 3, 1)


@pytest.fixture
def yard(shop, joiner, owner):
    yard = Yard(owner)
    yard.needs(yard.heron, yard.primer, "3 l")
    yard.plan()
    return yard


@pytest.fixture
def order(yard):
    made = make_order(supplier=yard.supplier, now=NOW, by=yard.owner)
    return send_order(order=made, sent_on=TODAY, paper=PAPER, now=NOW, by=yard.owner)


def look(day: date):
    return look_at_day(deliveries=list(Delivery.objects.all()), expected_on=day, now=NOW).lines


def test_a_later_day_names_the_handover_before_and_after(order):
    lines = look(date(2027, 3, 22))

    assert lines[0] == "Heron is handed over Tue 23 Mar, not Tue 9 Mar: still with 35 days to spare."
    assert lines[1:] == ("1 task starts a day or more later.",)


def test_a_day_after_the_promise_says_how_late(order):
    lines = look(date(2027, 5, 18))

    assert lines[0].startswith("Heron is handed over Wed 19 May, not Tue 9 Mar: 3 days late")
    assert "Fri 14 May" in lines[0]


def test_the_same_day_changes_no_handover(order):
    assert look(TODAY + timedelta(days=7)) == ("No handover changes.",)


def test_looking_changes_nothing(order):
    revision = Shop.objects.get().revision

    look(date(2027, 3, 22))

    assert Shop.objects.get().revision == revision
    assert {d.expected_on for d in Delivery.objects.all()} == {TODAY + timedelta(days=7)}


def test_what_was_shown_is_what_the_plan_gives_once_kept(order, yard):
    change_order_day(order=order, expected_on=date(2027, 3, 22), now=NOW, by=yard.owner)
    replan(now=NOW)

    assert PlanState.objects.get().handovers[str(yard.heron.pk)].startswith("2027-03-23")
    assert {d.first_expected_on for d in Delivery.objects.all()} == {TODAY + timedelta(days=7)}


def test_a_stale_page_moves_nothing(order, yard):
    seen = order.version
    change_order_day(order=order, expected_on=date(2027, 3, 22), version=seen, now=NOW, by=yard.owner)

    with pytest.raises(Stale):
        change_order_day(order=order, expected_on=date(2027, 3, 29), version=seen, now=NOW, by=yard.owner)


@pytest.mark.parametrize("day", [TODAY - timedelta(days=1), date(2029, 6, 1)])
def test_days_that_can_not_be_are_refused(order, yard, day):
    with pytest.raises(Refused):
        look(day)
    with pytest.raises(Refused):
        change_order_day(order=order, expected_on=day, now=NOW, by=yard.owner)


def test_what_is_here_moves_no_more(order, yard):
    book_in(order=order, came={order.lines.get().pk: Came(good=2)}, now=NOW, by=yard.owner)

    with pytest.raises(Refused, match="here already"):
        look(date(2027, 3, 22))
    with pytest.raises(Refused, match="still to come"):
        change_order_day(order=order, expected_on=date(2027, 3, 22), now=NOW, by=yard.owner)
