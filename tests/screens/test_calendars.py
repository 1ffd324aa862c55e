"""Calendars out: a fitter's plan and the shop's dates, behind links that can be withdrawn."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from icalendar import Calendar

from builds.actions.calendars import make_calendar_link, withdraw_calendar_link
from builds.actions.planning import replan
from builds.models import CalendarLink, Delivery, Task, VisitDay
from tests.cast import NOW, make_build, make_person, make_task


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOW, tick=False):
        yield


def address(person, owner) -> str:
    return reverse("calendars:feed", args=[make_calendar_link(person=person, now=NOW, by=owner)[1]])


def events(client, url: str) -> list:
    response = client.get(url)
    assert response.status_code == 200
    assert response["Content-Type"] == "text/calendar; charset=utf-8"
    return Calendar.from_ical(response.content).walk("VEVENT")


def test_a_fitters_calendar_holds_their_planned_work(client, small_build, joiner, owner):
    replan(now=NOW)
    found = events(client, address(joiner, owner))

    assert [(str(e["summary"]), e.start, e.end) for e in found] == [
        ("Heron: Cut parts", datetime(2027, 3, 1, 8, tzinfo=UTC), datetime(2027, 3, 1, 12, tzinfo=UTC)),
        ("Heron: Glue up", datetime(2027, 3, 1, 12, tzinfo=UTC), datetime(2027, 3, 1, 15, 30, tzinfo=UTC)),
        ("Heron: Fit unit", datetime(2027, 3, 2, 15, 30, tzinfo=UTC), datetime(2027, 3, 2, 17, tzinfo=UTC)),
        ("Heron: Fit unit", datetime(2027, 3, 3, 8, tzinfo=UTC), datetime(2027, 3, 3, 8, 30, tzinfo=UTC)),
    ]
    assert str(found[0]["location"]) == "Bench"


def test_work_over_night_is_one_entry_a_day_and_none_on_a_closed_one(client, shop, joiner, owner):
    make_task(make_build(), "long-work", hours=50, place_id="bench", needs_van=False)
    replan(now=NOW)

    found = events(client, address(joiner, owner))

    assert len(found) == 6
    assert [e.start.date().isoweekday() for e in found] == [1, 2, 3, 4, 5, 1]
    assert len({str(e["uid"]) for e in found}) == 6
    assert all(e.end - e.start <= timedelta(hours=9) for e in found)


def test_work_begins_at_the_same_clock_time_before_and_after_summer_time(client, shop, joiner, owner):
    """British summer time begins on 28 March 2027: 8 o'clock is 08:00 UTC before, 07:00 after."""
    friday = datetime(2027, 3, 26, 8, tzinfo=UTC)
    with time_machine.travel(friday, tick=False):
        shop.country = ""
        shop.save()
        make_task(make_build(), "long-work", hours=16, place_id="bench", needs_van=False)
        replan(now=friday)
        found = events(client, address(joiner, owner))

    assert [e.start for e in found] == [
        datetime(2027, 3, 26, 8, tzinfo=UTC),
        datetime(2027, 3, 29, 7, tzinfo=UTC),
    ]


def test_nobody_finds_anothers_work_in_their_calendar(client, small_build, owner):
    other = make_person("Robin Vale", "gas", helps=False)
    replan(now=NOW)

    assert events(client, address(other, owner)) == []


def test_the_shops_calendar_holds_deliveries_visits_and_handovers(client, small_build, owner):
    Delivery.objects.create(build=small_build, what="Roof vent", expected_on=date(2027, 3, 9))
    Delivery.objects.create(what="Here already", expected_on=date(2027, 3, 9), arrived_on=date(2027, 3, 1))
    visitor = make_person("Ash Quill", "gas", is_visitor=True)
    VisitDay.objects.create(person=visitor, date=date(2027, 3, 10))
    found = events(client, address(None, owner))

    assert [(str(e["summary"]), e.start, e.end) for e in found] == [
        ("Delivery: Roof vent for Heron", date(2027, 3, 9), date(2027, 3, 10)),
        ("Visit: Ash Quill", date(2027, 3, 10), date(2027, 3, 11)),
        ("Handover: Heron", date(2027, 5, 14), date(2027, 5, 15)),
    ]


def test_a_withdrawn_link_and_a_leavers_link_find_nothing(client, joiner, owner):
    link, token = make_calendar_link(person=joiner, now=NOW, by=owner)
    kept = address(joiner, owner)
    withdraw_calendar_link(link=link, now=NOW, by=owner)

    assert client.get(reverse("calendars:feed", args=[token])).status_code == 404
    assert client.get(kept).status_code == 200
    joiner.left_on = date(2027, 3, 1)
    joiner.save()
    assert client.get(kept).status_code == 404


def test_a_calendar_is_kept_by_no_cache_and_tells_no_contact_or_price(client, small_build, joiner, owner):
    small_build.price_agreed = 43210
    small_build.save()
    replan(now=NOW)

    for url in (address(joiner, owner), address(None, owner)):
        response = client.get(url)
        assert response["Cache-Control"] == "no-store"
        assert response["Referrer-Policy"] == "no-referrer"
        assert b"43210" not in response.content
        assert b"example.org" not in response.content
        assert b"people" not in response.content


def test_the_owner_makes_a_link_shown_once_and_withdraws_it(owner_client, joiner):
    made = owner_client.post(reverse("owner:calendar-make"), {"person": joiner.pk})

    link = CalendarLink.objects.get()
    shown = made.context["new_address"]
    assert shown in made.content.decode()
    assert link.token_hash not in made.content.decode()
    assert owner_client.get(shown).status_code == 200
    assert shown not in owner_client.get(reverse("owner:calendar-list")).content.decode()

    owner_client.post(reverse("owner:calendar-withdraw", args=[link.pk]))
    assert owner_client.get(shown).status_code == 404
    assert CalendarLink.objects.get().withdrawn_at is not None


@pytest.mark.parametrize("word", ["999999", "nobody", "-1"])
def test_a_link_for_nobody_is_not_made(owner_client, word):
    assert owner_client.post(reverse("owner:calendar-make"), {"person": word}).status_code == 404
    assert not CalendarLink.objects.exists()


def test_somebody_who_left_gets_no_link(owner_client, joiner):
    joiner.left_on = date(2027, 3, 1)
    joiner.save()

    assert owner_client.post(reverse("owner:calendar-make"), {"person": joiner.pk}).status_code == 422
    assert not CalendarLink.objects.exists()


def test_the_list_and_the_feeds_ask_as_often_for_three_as_for_one(owner_client, small_build, joiner, owner):
    urls = [reverse("owner:calendar-list"), address(joiner, owner), address(None, owner)]
    replan(now=NOW)

    def counts() -> list[int]:
        found = []
        for url in urls:
            owner_client.get(url)
            with CaptureQueriesContext(connection) as captured:
                owner_client.get(url)
            found.append(len(captured))
        return found

    one = counts()
    for n in range(2):
        build = make_build(f"Van {n}")
        make_task(build, "more-work", place_id="bench", needs_van=False)
        Delivery.objects.create(build=build, what="Board", expected_on=date(2027, 3, 9))
        make_calendar_link(person=make_person(f"Joiner {n}", "joinery"), now=NOW, by=owner)
    replan(now=NOW)

    assert Task.objects.count() == 5
    assert counts() == one
    assert max(one) <= 12
