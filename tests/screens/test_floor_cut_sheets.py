"""Sheets on the job sheet: what is to cut, ticked with one press, with and without the network."""

from __future__ import annotations

import uuid

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from builds.actions.cutting import lay_out
from builds.actions.planning import replan
from builds.models import CutSheet, FloorEvent, Task
from tests import cast
from tests.screens.fragments import assert_same_as_fresh
from tests.screens.test_access import pair

HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture(autouse=True)
def at_eight(now):
    with time_machine.travel(now, tick=False):
        yield


@pytest.fixture
def cut(shop, joiner, now):
    build = cast.make_build()
    unit = cast.make_unit(build)
    cast.make_part(unit, cast.make_board(), "Side", 2000, 585, count=3)
    return cast.make_task(
        build, "cut-parts", unit=unit, standard="cut", hours=4, place_id="bench", needs_van=False
    )


@pytest.fixture
def sheet(cut, now) -> CutSheet:
    lay_out(builds=[cut.build], now=now, by=None)
    return CutSheet.objects.get(number=1)


@pytest.fixture
def tablet(client, sheet, now):
    pair(client)
    replan(now=now)
    return client


def page_of(joiner) -> str:
    return reverse("floor:job-sheet", args=[joiner.pk])


def press(cut, joiner, sheet) -> str:
    return reverse("floor:sheet-cut", args=[joiner.pk, cut.pk, sheet.pk])


def text(response) -> str:
    return response.content.decode()


def test_the_cutting_task_lists_its_sheets_with_the_hours_to_expect(tablet, joiner, sheet):
    shown = text(tablet.get(page_of(joiner)))

    assert "Board ply12, sheet 1" in shown
    assert "2 pieces" in shown
    assert 'name="hours" inputmode="decimal" autocomplete="off" value="2.75"' in shown


def test_one_press_ticks_the_sheet_and_the_fragment_is_what_a_fresh_page_shows(tablet, cut, joiner, sheet):
    before = text(tablet.get(page_of(joiner)))

    answer = tablet.post(press(cut, joiner, sheet), {"hours": "2", "once": str(uuid.uuid4())}, **HTMX)

    assert answer.status_code == 200
    assert "Sheet 1 of Board ply12 is cut" in answer["HX-Trigger"]
    assert "Board ply12, sheet 1" not in text(answer)
    assert_same_as_fresh(before, text(answer), text(tablet.get(page_of(joiner))), target="#sheet")
    assert Task.objects.get(pk=cut.pk).state == "under way"


def test_it_can_be_taken_back_from_the_sheet(tablet, cut, joiner, sheet):
    tablet.post(press(cut, joiner, sheet), {"hours": "2", "once": str(uuid.uuid4())})
    shown = text(tablet.get(page_of(joiner)))
    assert "Cut a sheet: Cut parts" in shown

    event = FloorEvent.objects.get(verb="sheet cut")
    tablet.post(reverse("floor:event-undo", args=[joiner.pk, event.pk]), {"once": str(uuid.uuid4())})

    assert "Board ply12, sheet 1" in text(tablet.get(page_of(joiner)))


def test_hours_that_are_none_are_refused_beside_the_sheets(tablet, cut, joiner, sheet):
    answer = tablet.post(press(cut, joiner, sheet), {"hours": "some", "once": str(uuid.uuid4())}, **HTMX)

    assert answer.status_code == 422
    assert "Hours have to be a number" in text(answer)
    assert CutSheet.objects.get(pk=sheet.pk).cut_at is None


def test_a_sheet_laid_out_anew_is_said_on_the_sheet(tablet, cut, joiner, sheet, now):
    lay_out(builds=[cut.build], now=now, by=None)

    answer = tablet.post(press(cut, joiner, sheet), {"hours": "1", "once": str(uuid.uuid4())}, **HTMX)

    assert answer.status_code == 404
    assert "laid out anew" in text(answer)


def test_a_press_that_waited_on_the_tablet_counts_once_and_when_it_was_made(tablet, cut, joiner, sheet, now):
    made = "2027-03-01T07:10:00.000Z"
    headers = {"X-Queue-Number": "1", "X-Done-At": made, "X-Sent-At": "2027-03-01T08:00:00.000Z"}
    form = {"hours": "2", "once": str(uuid.uuid4())}

    answers = [tablet.post(press(cut, joiner, sheet), form, headers=headers).json() for _ in range(2)]

    assert answers[0] == answers[1]
    assert answers[0]["outcome"] == "kept"
    assert FloorEvent.objects.filter(verb="sheet cut").count() == 1
    assert f"{CutSheet.objects.get(pk=sheet.pk).cut_at:%H:%M}" == "07:10"


def test_a_refused_press_that_waited_is_answered_alike_ever_after(tablet, cut, joiner, sheet, now):
    lay_out(builds=[cut.build], now=now, by=None)
    headers = {
        "X-Queue-Number": "1",
        "X-Done-At": "2027-03-01T07:10:00.000Z",
        "X-Sent-At": "2027-03-01T08:00:00.000Z",
    }
    form = {"hours": "2", "once": str(uuid.uuid4())}

    answers = [tablet.post(press(cut, joiner, sheet), form, headers=headers).json() for _ in range(2)]

    assert answers[0] == answers[1]
    assert answers[0]["outcome"] == "refused"
    assert "laid out anew" in answers[0]["words"]


def test_the_sheet_to_scale_opens_on_the_tablet(tablet, joiner, sheet):
    shown = text(tablet.get(reverse("floor:cut-sheet", args=[joiner.pk, sheet.pk])))

    assert "Order of cuts" in shown
    assert "2000 × 585" in shown


def test_the_job_sheet_asks_as_much_for_three_units_as_for_one(tablet, cut, joiner, sheet, now):
    tablet.get(page_of(joiner))
    with CaptureQueriesContext(connection) as one:
        tablet.get(page_of(joiner))
    board = cut.unit.parts.get().material
    for name in ("Wardrobe", "Pantry"):
        unit = cast.make_unit(cut.build, name)
        cast.make_part(unit, board, "Side", 900, 500, count=2)
        cast.make_task(cut.build, f"cut-{name}", unit=unit, standard="cut", place_id="bench", needs_van=False)
    lay_out(builds=[cut.build], now=now, by=None)
    replan(now=now)

    with CaptureQueriesContext(connection) as three:
        tablet.get(page_of(joiner))

    assert len(three) == len(one) <= 12
