"""The owner's week, the wall sheet and the crew sheet: what they show, how often they ask, how work moves."""

from __future__ import annotations

import json
from datetime import date, timedelta

import pytest
import time_machine
from django.db import connection
from django.db.models import F
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from lxml import html

from builds.actions import door
from builds.actions.moving import chosen_work
from builds.actions.planning import replan
from builds.models import Delivery, HoldPoint, Pin, PlanRow, Shop, Task, Unit, VisitDay
from builds.queries.opening import opening_times
from tests import cast
from tests.screens.fragments import part

WEEK = timedelta(days=7)
THIS = date(2027, 3, 1)
HX = {"HX-Request": "true"}


@pytest.fixture(autouse=True)
def at_now(now):
    """The screens read the clock at the time of the cast."""
    with time_machine.travel(now, tick=False):
        yield


@pytest.fixture
def planned(small_build, now):
    replan(now=now)
    return list(small_build.tasks.all())


def page(client, name: str, **query) -> str:
    response = client.get(reverse(f"owner:{name}"), query)
    assert response.status_code == 200
    return response.content.decode()


@pytest.mark.parametrize("name", ["week", "wall", "crew", "crew-drawing"])
def test_an_empty_shop_says_what_to_do_first(owner_client, name):
    text = page(owner_client, name)

    assert "yet." in text


@pytest.mark.parametrize("name", ["week", "wall", "crew", "crew-drawing"])
def test_each_sheet_asks_as_often_for_three_vans_as_for_one(owner_client, planned, now, name):
    with CaptureQueriesContext(connection) as for_one:
        page(owner_client, name)
    for van in ("Teal", "Kestrel"):
        build = cast.make_build(van)
        cast.make_task(build, "cut-parts", after=(cast.make_task(build, "look-over"),))
        cast.make_person(f"{van} Hand", "joinery")
    replan(now=now + timedelta(minutes=20))

    with CaptureQueriesContext(connection) as for_three:
        text = page(owner_client, name)

    assert "Teal" in text
    assert len(for_three) == len(for_one) <= 12


@pytest.mark.parametrize("name", ["week", "wall", "crew", "crew-drawing"])
def test_the_live_part_equals_a_fresh_page(owner_client, planned, name):
    fragment = owner_client.get(reverse(f"owner:{name}"), headers=HX).content.decode()

    assert part(fragment, name) == part(page(owner_client, name), name)


def test_the_wall_groups_a_vans_work_by_week(owner_client, planned):
    text = page(owner_client, "wall")

    assert "week 1" in text
    assert "Whole van" in text
    assert 'data-drop-week="2027-03-08"' in text


def test_one_van_is_shown_by_unit_and_task(owner_client, planned, small_build):
    text = page(owner_client, "wall", van=small_build.pk)

    assert "Fit unit" in text
    assert f'data-drag-task="{planned[2].pk}"' in text


@pytest.mark.parametrize("query", [{"from": "never"}, {"van": "x"}, {"weeks": "900"}, {"from": "9999-01-01"}])
def test_nonsense_in_the_address_shows_the_sheet_as_usual(owner_client, planned, query):
    assert 'id="wall"' in page(owner_client, "wall", **query)


def test_a_van_that_is_not_there_is_not_found(owner_client, planned):
    assert owner_client.get(reverse("owner:wall"), {"van": 987654}).status_code == 404


def test_a_move_kept_without_scripts_can_be_put_back(owner_client, planned):
    key = str(planned[0].pk)
    shown = owner_client.post(reverse("owner:move"), {"task": key, "week": "2027-03-08"}).content.decode()
    kept = owner_client.post(reverse("owner:move-keep"), hidden(shown, "move")).content.decode()
    assert Pin.objects.get().monday == THIS + WEEK

    owner_client.post(reverse("owner:move-back"), hidden(kept, "move"))

    assert not Pin.objects.exists()


def hidden(page: str, within: str) -> dict[str, str]:
    """The hidden fields of the first form inside `#within`."""
    return fields(part(page, within))


def test_pinned_work_that_misses_its_week_shows_it(owner_client, planned, now):
    Pin.objects.create(task=planned[2], monday=THIS, set_at=now)
    PlanRow.objects.filter(task=planned[2]).update(flags=["pin broken"])

    assert "pin not kept</span>" in page(owner_client, "wall")


def test_work_in_no_week_is_named_with_its_reason(owner_client, planned, small_build, now):
    cast.make_task(small_build, "gas-test", trade_id="gas")
    with door.write():
        pass
    replan(now=now + timedelta(minutes=1))

    assert "1 task in no week" in page(owner_client, "wall")
    assert "nobody at work leads gas" in page(owner_client, "wall", van=small_build.pk)


def test_the_hours_at_the_foot_are_those_of_the_week(owner_client, planned):
    """By hand: 4 + 3 + 2 h of work; one person for 5 days of 8½ h."""
    text = page(owner_client, "wall")

    assert "9\u202fh of 42½\u202fh" in text


def test_a_move_is_shown_then_kept_then_put_back(owner_client, planned, now):
    key = str(planned[0].pk)
    asked = owner_client.get(reverse("owner:move"), {"task": key}, headers=HX)
    shown = owner_client.post(
        reverse("owner:move"), {"task": key, "week": "2027-03-08"}, headers=HX
    ).content.decode()
    assert "Move Heron: Cut parts" in asked.content.decode()
    assert "Heron is handed over" in shown
    assert not Pin.objects.exists()

    kept = owner_client.post(reverse("owner:move-keep"), fields(shown), headers=HX)
    assert Pin.objects.get().monday == THIS + WEEK
    assert "wall-changed" in json.loads(kept["HX-Trigger"])

    back = owner_client.post(reverse("owner:move-back"), fields(kept.content.decode()), headers=HX)
    assert back.status_code == 200
    assert not Pin.objects.exists()


def fields(fragment: str) -> dict[str, str]:
    """The hidden fields of the first form of a fragment."""
    form = html.fromstring(fragment).xpath("//form")[0]
    return {name: value for name, value in form.form_values() if name != "csrfmiddlewaretoken"}


def test_an_impossible_move_offers_the_first_week_that_can(owner_client, planned):
    Delivery.objects.create(build=planned[0].build, what="Windows", expected_on=date(2027, 3, 16)).tasks.add(
        planned[0]
    )

    response = owner_client.post(
        reverse("owner:move"), {"task": str(planned[0].pk), "week": "2027-03-08"}, headers=HX
    )

    text = response.content.decode()
    assert response.status_code == 422
    assert "The first week that can is 15 to 21 Mar" in text
    assert '<option value="2027-03-15" selected>' in text


def test_a_stale_move_is_told_so(owner_client, planned):
    fields_then = {"task": str(planned[0].pk), "week": "2027-03-08", "mark": "not-this-one"}

    response = owner_client.post(reverse("owner:move-keep"), fields_then, headers=HX)

    assert response.status_code == 409
    assert not Pin.objects.exists()


@pytest.mark.parametrize(
    "typed",
    [
        {},
        {"task": "x"},
        {"task": "987654", "week": "soon"},
        {"pins": "{}", "mark": "a"},
        {"pins": "[1]"},
        {"pins": '{"x": 1}'},
    ],
)
@pytest.mark.parametrize("name", ["move", "move-keep", "move-back", "move-lift"])
def test_nonsense_never_breaks_a_move(owner_client, planned, name, typed):
    response = owner_client.post(reverse(f"owner:{name}"), typed, headers=HX)

    assert response.status_code in (404, 409, 422)
    assert not Pin.objects.exists()


def test_the_week_shows_what_needs_the_owner(owner_client, planned, small_build, now):
    Delivery.objects.create(build=small_build, what="Windows", expected_on=date(2027, 2, 26)).tasks.add(
        planned[2]
    )

    text = page(owner_client, "week")

    assert "Windows for Heron was to come Fri 26 Feb" in text


def test_telling_the_crew_is_one_button(owner_client, planned):
    owner_client.post(reverse("owner:tell"))

    assert Shop.objects.get().told_monday == THIS
    assert "The crew knows what the plan says" in page(owner_client, "week")


def test_the_aim_of_the_week_is_kept_and_shown(owner_client, planned, small_build):
    owner_client.post(reverse("owner:aim", args=[small_build.pk]), {"aim": "Windows in & tight"})

    assert "Aim: Windows in &amp; tight" in page(owner_client, "week")


def test_the_crew_sheet_shows_who_is_on_what(owner_client, planned, joiner):
    text = page(owner_client, "crew")

    assert "Wren Alder" in text
    assert "Cut parts" in text
    assert "free" in text


def test_an_item_of_an_old_wall_sheet_is_refused_with_words(owner_client, planned, now):
    old = html.fromstring(page(owner_client, "wall", van=planned[0].build_id)).xpath(
        f'//*[@data-drag-task="{planned[0].pk}"]/@data-drag-mark'
    )[0]
    taken = {"task": str(planned[0].pk), "week": "2027-03-15"}
    assert owner_client.post(reverse("owner:move"), taken | {"mark": old}, headers=HX).status_code == 200
    Task.objects.filter(pk=planned[0].pk).update(version=F("version") + 1)

    response = owner_client.post(reverse("owner:move"), taken | {"mark": old}, headers=HX)

    assert response.status_code == 409
    assert "moved or changed meanwhile" in response.content.decode()


def test_a_second_press_moves_nothing_twice(owner_client, planned):
    key = str(planned[0].pk)
    shown = owner_client.post(reverse("owner:move"), {"task": key, "week": "2027-03-08"}, headers=HX)
    typed = fields(shown.content.decode())

    answers = [owner_client.post(reverse("owner:move-keep"), typed, headers=HX).status_code for _ in "ab"]

    assert answers == [200, 409]
    assert list(Pin.objects.values_list("monday", flat=True)) == [THIS + WEEK]


def test_the_marks_on_the_sheet_are_those_a_move_asks_for(owner_client, planned, small_build, now):
    """Of single tasks, of what starts in a week, and of a whole unit, stopped work included."""
    unit = Unit.objects.create(
        build=small_build, kind="kitchen", name="Kitchen", width_mm=1200, depth_mm=500, height_mm=880
    )
    small_build.tasks.update(unit=unit)
    Task.objects.filter(pk=planned[1].pk).update(state="stopped", stop_reason="No glue", started_at=now)
    times = opening_times()
    for query in ({}, {"van": small_build.pk}):
        found = html.fromstring(page(owner_client, "wall", **query)).xpath("//*[@data-drag-task]")
        assert found
        for item in found:
            assert item.get("data-drag-mark") == chosen_work(item.get("data-drag-task"), times).mark


def test_a_piece_that_goes_on_is_named_once(owner_client, planned, joiner):
    """By hand: glue Monday 12 to 12:30 and 13 to 15:30; fitted Tuesday 15:30 to 17 and Wednesday to 8:30."""
    text = page(owner_client, "crew")

    assert text.count("goes on<") == 2


def test_the_crew_sheet_shows_what_falls_on_each_day(owner_client, planned, small_build, now):
    Delivery.objects.create(build=small_build, what="Windows", expected_on=date(2027, 3, 4))
    HoldPoint.objects.create(task=planned[2], kind="water", name="Water under pressure")

    text = page(owner_client, "crew")

    assert "Heron: Windows" in text
    assert "Heron: Water under pressure" in text
    assert "Heron, Whole van: Glue up, from 15:30" in text


def test_a_visitor_shows_booked_days_and_those_to_book(owner_client, planned, small_build, now):
    visitor = cast.make_person("Sol Quill", "gas", is_visitor=True)
    assert "Sol Quill" not in page(owner_client, "crew")
    cast.make_task(small_build, "gas-test", trade_id="gas")
    with door.write():
        pass
    replan(now=now)
    assert "not booked" in page(owner_client, "crew")

    VisitDay.objects.create(person=visitor, date=date(2027, 3, 1))

    text = page(owner_client, "crew")
    assert "not booked" not in text
    assert "booked" in text
