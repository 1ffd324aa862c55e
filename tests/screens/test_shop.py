"""The owner sees and edits the shop: settings, opening hours, closed days."""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from builds.actions.door import note_in_journal
from builds.models import ClosedDay, OpeningSpan, Shop
from builds.queries.opening import opening_times, public_holidays
from tests.cast import NOW
from tests.screens.forms import filled, post_form


def test_the_journal_tells_who_did_what_to_which_van_within_twelve_queries(owner_client, owner, small_build):
    url = reverse("owner:shop-journal")
    assert "Nothing was changed yet." in owner_client.get(url).content.decode()
    note_in_journal("Moved the <b>fridge</b>", now=NOW, by=owner, build=small_build)
    with CaptureQueriesContext(connection) as one:
        text = owner_client.get(url).content.decode()
    for n in range(60):
        note_in_journal(f"Change {n}", now=NOW, by=owner)

    with CaptureQueriesContext(connection) as many:
        owner_client.get(url)

    assert "Moved the &lt;b&gt;fridge&lt;/b&gt;" in text
    assert "Rowan Ember" in text
    assert len(many) == len(one) <= 12


def test_the_settings_are_kept(owner_client):
    page = reverse("owner:shop")

    response = post_form(owner_client, page, {"name": "Ember Lane", "plannable_share": "0.75"})

    assert response.status_code == 302
    shop = Shop.objects.get()
    assert (shop.name, str(shop.plannable_share)) == ("Ember Lane", "0.75")


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("plannable_share", "0.1"),
        ("plannable_share", "much"),
        ("move_minutes", "-5"),
        ("name", ""),
        ("country", "ZZ"),
        ("zone", "Europe/Nowhere"),
        ("currency", "pounds"),
    ],
)
def test_a_wrong_setting_is_named_and_the_input_kept(owner_client, field, value):
    response = post_form(owner_client, reverse("owner:shop"), {"move_minutes": "45", field: value})

    assert response.status_code == 422
    text = response.content.decode()
    assert 'class="errorlist"' in text
    assert filled(text)["move_minutes"] == ("-5" if field == "move_minutes" else "45")
    assert Shop.objects.get().move_minutes == 30


def test_settings_changed_on_another_page_are_said_to_be_and_may_be_kept_again(owner_client):
    page = reverse("owner:shop")
    form = filled(owner_client.get(page).content.decode())
    post_form(owner_client, page, {"move_minutes": "45"})

    late = owner_client.post(page, form | {"move_minutes": "60"})
    assert late.status_code == 409
    assert Shop.objects.get().move_minutes == 45

    again = owner_client.post(page, filled(late.content.decode()))
    assert again.status_code == 302
    assert Shop.objects.get().move_minutes == 60


def test_the_parts_of_another_country_may_be_chosen(owner_client):
    text = owner_client.get(reverse("owner:shop-parts"), {"country": "DE"}).content.decode()

    assert 'value="BY"' in text
    assert "Bayern" in text


def test_opening_hours_are_kept_with_their_breaks(owner_client):
    page = reverse("owner:shop-opening")

    response = post_form(owner_client, page, {"d0-0-from": "7", "d5-0-from": "0900", "d5-0-to": "12:00"})

    assert response.status_code == 302
    assert OpeningSpan.objects.get(weekday=5).opens == time(9)
    assert OpeningSpan.objects.filter(weekday=0).first().opens == time(7)


@pytest.mark.parametrize(
    "typed",
    [
        {"d0-0-from": "25:00"},
        {"d0-0-from": ""},
        {"d0-0-from": "13:00"},
        {"d0-1-from": "12:00"},
        {"d0-0-from": "8:05"},
    ],
)
def test_wrong_hours_are_named_and_the_input_kept(owner_client, typed):
    response = post_form(owner_client, reverse("owner:shop-opening"), {"d4-1-to": "16:00"} | typed)

    assert response.status_code == 422
    assert filled(response.content.decode())["d4-1-to"] == "16:00"
    assert OpeningSpan.objects.filter(weekday=4).last().closes == time(17)


def test_mondays_times_are_copied_without_keeping_anything(owner_client):
    page = reverse("owner:shop-opening")

    response = post_form(owner_client, page, {"d0-0-from": "7:00", "copy": "monday"})

    assert response.status_code == 200
    assert filled(response.content.decode())["d4-0-from"] == "7:00"
    assert OpeningSpan.objects.filter(weekday=4).first().opens == time(8)


def today() -> date:
    return opening_times().day_of(timezone.now())


def test_a_stretch_of_days_is_closed_and_opened_again(owner_client):
    first, last = today() + timedelta(days=10), today() + timedelta(days=12)

    typed = {"date": first.isoformat(), "until": last.isoformat(), "reason": "<b>Van show</b>"}
    owner_client.post(reverse("owner:day-close"), typed)
    text = owner_client.get(reverse("owner:shop-days")).content.decode()

    assert ClosedDay.objects.count() == 3
    assert "&lt;b&gt;Van show&lt;/b&gt;, 3 days" in text

    owner_client.post(reverse("owner:day-open"), {"date": first.isoformat(), "until": last.isoformat()})
    assert ClosedDay.objects.count() == 0


@pytest.mark.parametrize("day", ["", "2027-02-30", "0001-01-01", "9999-12-31", "soon"])
def test_a_day_that_is_none_is_named(owner_client, day):
    response = owner_client.post(reverse("owner:day-close"), {"date": day, "reason": "Van show"})

    assert response.status_code == 422
    assert filled(response.content.decode())["reason"] == "Van show"


def test_a_public_holiday_may_be_worked_and_closed_again(owner_client):
    day = next(
        d
        for year in (today().year, today().year + 1)
        for d in sorted(public_holidays("GB", "ENG", year))
        if d > today() and d.weekday() < 5
    )

    owner_client.post(reverse("owner:holiday-work"), {"date": day.isoformat()})
    assert "Close after all" in owner_client.get(reverse("owner:shop-days")).content.decode()

    owner_client.post(reverse("owner:day-open"), {"date": day.isoformat(), "until": day.isoformat()})
    assert "Close after all" not in owner_client.get(reverse("owner:shop-days")).content.decode()


def test_an_ordinary_day_is_no_holiday_to_work(owner_client):
    day = today() + timedelta(days=(9 - today().weekday()) % 7 + 7)
    while day in public_holidays("GB", "ENG", day.year):
        day += timedelta(days=7)

    response = owner_client.post(reverse("owner:holiday-work"), {"date": day.isoformat()})

    assert response.status_code == 422
    assert ClosedDay.objects.count() == 0
