"""The owner's week of hours: per person and per van, corrected with history, never compared."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from builds.actions import floor
from builds.actions.floor import By
from builds.models import FloorEvent, Task
from tests import cast


@pytest.fixture(autouse=True)
def at_eight(now):
    with time_machine.travel(now, tick=False):
        yield


@pytest.fixture
def ash(shop):
    return cast.make_person("Ash Fenn", "joinery")


def ticked(build, key, person, hours, at) -> FloorEvent:
    task = cast.make_task(build, key)
    return floor.tick_task(task=task, hours=hours, by=By(person=person), now=at).event


def text(response) -> str:
    return response.content.decode()


def test_people_stand_by_name_whoever_has_more_hours(owner_client, small_build, joiner, ash, now):
    ticked(small_build, "sand", joiner, "8", now)
    ticked(small_build, "oil", ash, "1", now)

    page = text(owner_client.get(reverse("owner:hours")))

    assert re.findall(r'<h2 id="group-\d">([^<]+)', page) == ["Ash Fenn", "Wren Alder"]
    assert re.search(r"8\Wh on record", page)


def test_another_week_shows_its_own_hours(owner_client, small_build, joiner, now):
    ticked(small_build, "sand", joiner, "8", now - timedelta(days=7))

    assert "Sand" not in text(owner_client.get(reverse("owner:hours")))
    assert "Sand" in text(owner_client.get(reverse("owner:hours"), {"week": "2027-02-24"}))


@pytest.mark.parametrize("week", ["", "soon", "9999-99-99", "0001-01-01"])
def test_a_week_that_cannot_be_is_this_one(owner_client, shop, week):
    assert "1 to 7 Mar" in text(owner_client.get(reverse("owner:hours"), {"week": week}))


def test_by_van_the_hours_of_all_hands_are_added(owner_client, small_build, joiner, ash, now):
    event = ticked(small_build, "sand", joiner, "3", now)
    form = {"hours": "3", "crew": [joiner.pk, ash.pk], "seen": "0"}
    owner_client.post(reverse("owner:hours-tick", args=[event.pk]), form)

    page = text(owner_client.get(reverse("owner:hours"), {"by": "van"}))

    assert "Ash Fenn" in page
    assert re.search(r"6\Wh on record, all hands", page)


def test_the_owner_corrects_a_tick_and_sees_what_was_said(owner_client, small_build, joiner, now):
    event = ticked(small_build, "sand", joiner, "8", now)
    address = reverse("owner:hours-tick", args=[event.pk])

    answer = owner_client.post(
        address, {"hours": "2.5", "crew": [joiner.pk], "why": "lunch was counted", "seen": "0"}
    )

    assert answer["Location"] == reverse("owner:hours") + "?week=2027-03-01"
    assert Task.objects.get(key="sand").hours_taken == 2.5
    page = text(owner_client.get(address))
    assert "lunch was counted" in page
    assert "corrected" in text(owner_client.get(reverse("owner:hours")))


def test_a_wrong_correction_is_told_in_place_with_the_typing_kept(owner_client, small_build, joiner, now):
    event = ticked(small_build, "sand", joiner, "8", now)

    answer = owner_client.post(reverse("owner:hours-tick", args=[event.pk]), {"hours": "ninety", "seen": "0"})

    assert (answer.status_code, 'value="ninety"' in text(answer)) == (422, True)


def test_what_is_no_tick_that_counts_is_not_found(owner_client, small_build, joiner, now):
    note = floor.add_note(build=small_build, text="x", by=By(person=joiner), now=now).event
    start = floor.start_task(task=small_build.tasks.get(key="cut-parts"), by=By(person=joiner), now=now).event

    for event in (note, start):
        assert owner_client.get(reverse("owner:hours-tick", args=[event.pk])).status_code == 404


def test_the_week_asks_as_often_for_three_ticks_as_for_one(owner_client, small_build, joiner, now):
    def count(key: str) -> int:
        ticked(small_build, key, joiner, "1", now)
        with CaptureQueriesContext(connection) as asked:
            owner_client.get(reverse("owner:hours"))
        return len(asked)

    one, _ = count("sand"), count("oil")

    assert count("wax") == one
    assert one <= 12
