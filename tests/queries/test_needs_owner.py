"""What needs the owner now: each kind of thing is named when it is so, and not when it is not."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from builds.actions import door
from builds.actions.planning import replan
from builds.models import Decision, Delivery, HoldPoint, Pin, Snag, Supplier, Task, VisitDay
from builds.queries.week import owner_week
from tests import cast

FRIDAY = timedelta(days=4)


def words(now, shop) -> list[str]:
    shop.refresh_from_db()
    return [need.words for need in owner_week(now, shop=shop).needs_you]


def plan_anew(now) -> None:
    with door.write():
        pass
    replan(now=now)


@pytest.fixture
def planned(small_build, now):
    replan(now=now)
    return small_build


def test_a_van_on_time_needs_nothing(planned, now, shop):
    assert words(now, shop) == []


def test_a_van_that_will_be_late_comes_first(planned, now, shop):
    Decision.objects.create(build=planned, what="Colour", needed_by=date(2027, 3, 3))
    planned.promised_on = date(2027, 3, 2)
    planned.save()

    assert words(now, shop)[0] == "Heron is forecast 1 day late"


def test_a_visitor_the_plan_counts_on_is_to_be_booked(planned, now, shop):
    visitor = cast.make_person("Sol Quill", "gas", is_visitor=True)
    cast.make_task(planned, "gas-test", trade_id="gas")
    plan_anew(now)

    assert words(now, shop) == ["Book Sol Quill for Mon 1 Mar: Heron, “Gas test”"]
    VisitDay.objects.create(person=visitor, date=date(2027, 3, 1))
    assert words(now, shop) == []


def test_work_that_nobody_can_do_is_named_with_its_reason(planned, now, shop):
    cast.make_task(planned, "gas-test", trade_id="gas")
    plan_anew(now)

    assert words(now, shop) == [
        "Heron: nobody at work leads gas, so “Gas test” can’t be planned. Add somebody or book a visitor"
    ]


def test_work_left_out_for_one_reason_is_one_line(shop, small_build, now):
    for key in ("gas-run", "gas-test", "gas-end"):
        cast.make_task(small_build, key, trade_id="gas")
    replan(now=now)

    assert words(now, shop) == [
        "Heron: nobody at work leads gas, so 3 tasks can’t be planned. Add somebody or book a visitor"
    ]


def test_a_failed_check_asks_for_a_recheck(planned, now, shop):
    check = HoldPoint.objects.create(task=planned.tasks.last(), kind="water", name="Water under pressure")
    assert words(now, shop) == []

    HoldPoint.objects.filter(pk=check.pk).update(state="failed")

    assert words(now, shop) == ["Heron: “Water under pressure” did not pass, a recheck is due"]


def test_a_passed_test_without_its_certificate_is_named(planned, now, shop):
    HoldPoint.objects.create(
        task=planned.tasks.last(), kind="gas", name="Final gas test", certificate_due=True, state="passed"
    )

    assert words(now, shop) == ["Heron: the certificate reference of “Final gas test” is missing"]


def test_a_pin_that_is_not_kept_is_named(planned, now, shop):
    last = planned.tasks.last()
    Pin.objects.create(task=last, monday=date(2027, 2, 22), set_at=now)
    plan_anew(now)

    assert words(now, shop) == ["Heron: “Fit unit” can’t keep the week it is pinned to"]


def test_snags_are_named_when_the_handover_is_near(planned, now, shop):
    Snag.objects.create(build=planned, text="Door rubs", at=now)

    assert words(now, shop) == ["Heron has snags to put right before Wed 3 Mar"]


def test_a_van_with_all_work_done_can_be_handed_over(planned, now, shop):
    Task.objects.update(state="done", finished_at=now, started_at=now)

    assert words(now, shop) == ["Heron: the work is done, the van can be handed over"]


def test_the_friday_sheet_is_asked_for_on_friday(planned, now, shop):
    assert "Heron: Friday, the progress sheet" in words(now + FRIDAY, shop)
    assert "Heron: last week’s progress sheet is not sent" in words(now + FRIDAY + timedelta(days=3), shop)


def test_all_that_one_supplier_owes_of_a_day_is_one_line(planned, now, shop):
    boards = Supplier.objects.create(name="Sawpit Boards")
    teal = cast.make_build("Teal")
    monday = date(2027, 2, 22)
    for van, what in ((planned, "Birch board"), (planned, "Lining board"), (teal, "Birch board")):
        Delivery.objects.create(build=van, what=what, expected_on=monday, supplier=boards)
    for what in ("Sink", "Hob"):
        Delivery.objects.create(build=planned, what=what, expected_on=monday, from_customer=True)
    Delivery.objects.create(what="Gloves", expected_on=date(2027, 3, 5), supplier=boards)
    shop.refresh_from_db()
    week = owner_week(now, shop=shop)

    assert [need.words for need in week.needs_you if "to come" in need.words] == [
        "3 things from Sawpit Boards for Heron and Teal were to come Mon 22 Feb",
        "Sink for Heron was to come Mon 22 Feb",
        "Hob for Heron was to come Mon 22 Feb",
    ]
    heron = next(van for van in week.vans if van.name == "Heron")
    assert heron.waiting[0] == "2 things from Sawpit Boards, to come Mon 22 Feb, overdue"
    assert [(due.what, due.van) for due in week.deliveries] == [
        ("3 things from Sawpit Boards", "Heron and Teal"),
        ("Sink", "Heron"),
        ("Hob", "Heron"),
        ("Gloves", "the shop"),
    ]
