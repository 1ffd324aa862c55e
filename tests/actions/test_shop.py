"""The shop's settings, its opening, its closed days."""

from __future__ import annotations

from datetime import date, time
from decimal import Decimal

import pytest

from builds.actions import shop as actions
from builds.actions.checked import edition
from builds.actions.door import Refused, Stale
from builds.models import ClosedDay, Journal, OpeningSpan, Shop
from builds.queries.opening import opening_times
from tests.cast import NOW


def revision() -> int:
    return Shop.objects.get(pk=1).revision


def change(owner, seen=None, **fields):
    return actions.change_shop(fields, now=NOW, by=owner, seen=seen)


def test_settings_change_with_words_in_the_journal_and_ask_for_a_plan(shop, owner):
    before = revision()

    change(owner, plannable_share=Decimal("0.75"), move_minutes=45)

    kept = Shop.objects.get(pk=1)
    assert (kept.plannable_share, kept.move_minutes, kept.name) == (Decimal("0.75"), 45, shop.name)
    assert revision() > before
    assert Journal.objects.get().what == "Changed the shop: plannable share of a day, minutes to move a van"


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("plannable_share", Decimal("0.29")),
        ("plannable_share", Decimal("1.01")),
        ("move_minutes", -1),
        ("move_minutes", 481),
        ("zone", "Europe/Nowhere"),
        ("country", "ZZ"),
        ("subdivision", "BY"),
        ("warmth", "tropical"),
        ("currency", "gb"),
        ("vat_percent", Decimal("-1")),
        ("name", "   "),
        ("name", "x" * 81),
    ],
)
def test_a_setting_that_can_not_be_is_refused_at_its_field(shop, owner, field, value):
    before = revision()

    with pytest.raises(Refused) as refused:
        change(owner, **{field: value})

    assert refused.value.field == field
    assert revision() == before
    assert Journal.objects.count() == 0


def test_two_people_changing_the_settings_do_not_overwrite_each_other(shop, owner):
    seen = edition(actions.settings_of(Shop.objects.get(pk=1)))
    change(owner, seen=seen, move_minutes=40)

    with pytest.raises(Stale):
        change(owner, seen=seen, move_minutes=20)

    assert Shop.objects.get(pk=1).move_minutes == 40


def test_what_happens_on_the_floor_does_not_make_the_settings_page_old(shop, owner):
    seen = edition(actions.settings_of(Shop.objects.get(pk=1)))
    Shop.objects.filter(pk=1).update(revision=99)

    change(owner, seen=seen, move_minutes=40)

    assert Shop.objects.get(pk=1).move_minutes == 40


def set_opening(owner, spans, **more):
    actions.set_opening(spans=spans, now=NOW, by=owner, **more)


def test_a_weekday_may_have_several_spans_and_the_gaps_are_breaks(shop, owner):
    before = revision()

    set_opening(
        owner, {0: [(time(13), time(17)), (time(7, 30), time(9, 30)), (time(9, 45), time(12, 30))], 4: []}
    )

    spans = [(s.weekday, s.opens, s.closes) for s in OpeningSpan.objects.all()]
    assert spans == [
        (0, time(7, 30), time(9, 30)),
        (0, time(9, 45), time(12, 30)),
        (0, time(13), time(17)),
    ]
    assert opening_times().minutes_open(date(2027, 3, 1)) == 120 + 165 + 240
    assert not opening_times().is_open(date(2027, 3, 5))
    assert revision() > before


@pytest.mark.parametrize(
    "spans",
    [
        {0: [(time(9), time(8))]},
        {0: [(time(8), time(12)), (time(11, 45), time(17))]},
        {0: [(time(8, 5), time(12))]},
        {},
        {7: [(time(8), time(12))]},
    ],
)
def test_opening_hours_that_can_not_be_are_refused_and_the_old_ones_stay(shop, owner, spans):
    with pytest.raises(Refused):
        set_opening(owner, spans)

    assert OpeningSpan.objects.count() == 10


def test_opening_hours_changed_by_somebody_else_are_not_overwritten(shop, owner):
    seen = edition(*OpeningSpan.objects.all())
    set_opening(owner, {0: [(time(8), time(16))]}, seen=seen)

    with pytest.raises(Stale):
        set_opening(owner, {0: [(time(9), time(17))]}, seen=seen)

    assert OpeningSpan.objects.get().closes == time(16)


def test_a_shutdown_closes_each_of_its_days_with_the_reason(shop, owner):
    actions.close_day(date=date(2027, 8, 2), until=date(2027, 8, 6), reason="Summer break", now=NOW, by=owner)

    times = opening_times()
    assert [times.why_closed(date(2027, 8, day)) for day in (2, 6)] == ["Summer break", "Summer break"]
    assert times.open_days(date(2027, 8, 2)) == 0


def test_closing_a_day_twice_changes_only_the_reason(shop, owner):
    for reason in ("Stocktaking", "Van show"):
        actions.close_day(date=date(2027, 3, 12), reason=reason, now=NOW, by=owner)

    assert ClosedDay.objects.get().reason == "Van show"


@pytest.mark.parametrize(
    ("first", "last"),
    [
        (date(2027, 3, 12), date(2027, 3, 11)),
        (date(2027, 3, 12), date(2028, 3, 12)),
        (date(1, 1, 1), None),
        (date(9999, 12, 31), None),
    ],
)
def test_closed_days_that_can_not_be_are_refused(shop, owner, first, last):
    with pytest.raises(Refused):
        actions.close_day(date=first, until=last, now=NOW, by=owner)

    assert ClosedDay.objects.count() == 0


def test_a_public_holiday_may_be_worked_and_taken_back(shop, owner):
    easter_monday = date(2027, 3, 29)
    assert opening_times().why_closed(easter_monday) == "Easter Monday"

    actions.work_holiday(date=easter_monday, now=NOW, by=owner)
    assert opening_times().is_open(easter_monday)

    actions.open_again(date=easter_monday, now=NOW, by=owner)
    assert not opening_times().is_open(easter_monday)


def test_an_ordinary_day_is_no_holiday_to_work(shop, owner):
    with pytest.raises(Refused):
        actions.work_holiday(date=date(2027, 3, 30), now=NOW, by=owner)
