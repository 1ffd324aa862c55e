"""The owner's page of what does not agree, and snags put right on a build's page."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from builds.actions import floor
from builds.actions.floor import By
from builds.models import FloorEvent, HoldPoint, Snag, Task
from tests import cast

HOUR = timedelta(hours=1)


@pytest.fixture(autouse=True)
def at_eight(now):
    with time_machine.travel(now, tick=False):
        yield


def cross(build, key: str, wren, ash, now) -> FloorEvent:
    """One task ticked by one fitter and, later and offline, by another with other hours."""
    task = cast.make_task(build, key)
    floor.tick_task(task=task, hours="4", by=By(person=wren), now=now - 2 * HOUR)
    by = By(person=ash, uuid=uuid.uuid4(), device_at=now - HOUR)
    return floor.tick_task(task=task, hours="6", by=by, now=now).event


@pytest.fixture
def ash(shop):
    return cast.make_person("Ash Fenn", "joinery")


def test_the_owner_settles_a_line_and_sees_it_settled(owner_client, small_build, joiner, ash, now):
    event = cross(small_build, "sand", joiner, ash, now)

    page = owner_client.get(reverse("owner:settle-list")).content.decode()
    assert "Wren Alder ticked it with 4" in page
    assert "Ash Fenn ticked it with 6" in page
    owner_client.post(reverse("owner:settle", args=[event.pk]), {"keep": "this"})

    page = owner_client.get(reverse("owner:settle-list")).content.decode()
    assert "The later one counts, Rowan Ember" in page
    assert Task.objects.get(key="sand").hours_taken == 6


@pytest.mark.parametrize("keep", ["", "nonsense"])
def test_an_unknown_word_is_answered_in_words(owner_client, small_build, joiner, ash, now, keep):
    event = cross(small_build, "sand", joiner, ash, now)

    page = owner_client.post(reverse("owner:settle", args=[event.pk]), {"keep": keep}, follow=True)

    assert "Choose which of the two counts" in page.content.decode()


def test_the_list_asks_as_often_for_three_lines_as_for_one(owner_client, small_build, joiner, ash, now):
    def count() -> int:
        with CaptureQueriesContext(connection) as asked:
            owner_client.get(reverse("owner:settle-list"))
        return len(asked)

    cross(small_build, "sand", joiner, ash, now)
    one = count()
    cross(small_build, "oil", joiner, ash, now)
    cross(small_build, "wax", joiner, ash, now)

    assert count() == one
    assert one <= 12


def test_the_week_tells_the_owner_what_does_not_agree(owner_client, small_build, joiner, ash, now):
    cross(small_build, "sand", joiner, ash, now)

    page = owner_client.get(reverse("owner:week")).content.decode()

    assert "the floor does not agree about “Sand”" in page
    assert reverse("owner:settle-list") in page


def test_the_owner_puts_a_snag_right_from_the_builds_page(owner_client, small_build, now):
    snag = Snag.objects.create(build=small_build, text="Scratch in the worktop", at=now)
    page = owner_client.get(reverse("owner:build-page", args=[small_build.pk])).content.decode()
    assert "Scratch in the worktop" in page

    for _ in range(2):
        owner_client.post(reverse("owner:snag-put-right", args=[small_build.pk, snag.pk]))

    assert Snag.objects.get().put_right_at == now
    assert FloorEvent.objects.filter(verb="put right", outcome="kept").count() >= 1


def test_a_snag_of_a_failed_check_has_no_button_and_takes_no_press(owner_client, small_build, now):
    check = HoldPoint.objects.create(
        task=small_build.tasks.get(key="cut-parts"), kind="own", name="Square", state="failed"
    )
    snag = Snag.objects.create(build=small_build, text="Out of square", at=now, hold_point=check)
    address = reverse("owner:snag-put-right", args=[small_build.pk, snag.pk])

    page = owner_client.get(reverse("owner:build-page", args=[small_build.pk])).content.decode()
    assert address not in page
    answer = owner_client.post(address, follow=True)

    assert "passes its recheck" in answer.content.decode()
    assert Snag.objects.get().put_right_at is None


def test_a_snag_of_another_build_is_not_found(owner_client, small_build, now):
    other = Snag.objects.create(build=cast.make_build("Kestrel"), text="Rattle", at=now)

    answer = owner_client.post(reverse("owner:snag-put-right", args=[small_build.pk, other.pk]))

    assert answer.status_code == 404
