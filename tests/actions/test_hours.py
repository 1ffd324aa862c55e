"""Hours corrected by the owner: the tick stays as given, the last correction counts, nobody is overrun."""

from __future__ import annotations

import uuid
from decimal import Decimal

import pytest

from builds.actions import floor
from builds.actions.door import Refused, Stale
from builds.actions.floor import By
from builds.actions.hours import correct_hours, last_correction
from builds.models import FloorEvent, Task
from tests import cast


@pytest.fixture
def tick(small_build, joiner, now) -> FloorEvent:
    cut = small_build.tasks.get(key="cut-parts")
    return floor.tick_task(task=cut, hours="4", by=By(person=joiner), now=now).event


@pytest.fixture
def ash(shop):
    return cast.make_person("Ash Fenn", "joinery")


def taken(tick) -> Decimal:
    return Task.objects.get(pk=tick.task_id).hours_taken


def test_the_last_correction_counts_and_the_tick_stays_as_it_was_given(tick, joiner, ash, owner, now):
    correct_hours(tick=tick, hours="5.5", crew=[joiner.pk], user=owner, now=now)
    correct_hours(tick=tick, hours="3", crew=[joiner.pk, ash.pk], why="Ash helped", user=owner, now=now)

    assert taken(tick) == 3
    assert FloorEvent.objects.get(pk=tick.pk).payload["hours"] == "4.00"
    said = FloorEvent.objects.filter(about=tick, user=owner).order_by("pk")
    assert [event.payload["hours"] for event in said] == ["5.50", "3.00"]
    assert sorted(Task.objects.get(pk=tick.task_id).crew_on_it) == sorted([joiner.pk, ash.pk])


@pytest.mark.parametrize("typed", ["", "four", "0", "201", "NaN", "-3"])
def test_hours_that_cannot_be_are_refused(tick, joiner, owner, now, typed):
    with pytest.raises(Refused):
        correct_hours(tick=tick, hours=typed, crew=[joiner.pk], user=owner, now=now)

    assert taken(tick) == 4


@pytest.mark.parametrize(("crew", "words"), [([], "who was on it"), ([987654], "not known")])
def test_a_crew_that_cannot_be_is_refused(tick, owner, now, crew, words):
    with pytest.raises(Refused, match=words):
        correct_hours(tick=tick, hours="3", crew=crew, user=owner, now=now)


def test_a_correction_made_from_an_old_page_is_refused(tick, joiner, owner, now):
    correct_hours(tick=tick, hours="5", crew=[joiner.pk], seen=0, user=owner, now=now)

    with pytest.raises(Stale):
        correct_hours(tick=tick, hours="6", crew=[joiner.pk], seen=0, user=owner, now=now)
    correct_hours(tick=tick, hours="6", crew=[joiner.pk], seen=last_correction(tick), user=owner, now=now)

    assert taken(tick) == 6


def test_a_tick_that_was_taken_back_has_no_hours_to_correct(tick, joiner, owner, now):
    floor.undo(event=tick, by=By(person=joiner), now=now)

    with pytest.raises(Refused, match="does not count any more"):
        correct_hours(tick=tick, hours="5", crew=[joiner.pk], user=owner, now=now)


def test_the_same_form_sent_twice_corrects_once(tick, joiner, owner, now):
    once = uuid.uuid4()

    for _ in range(2):
        correct_hours(tick=tick, hours="5", crew=[joiner.pk], seen=0, user=owner, now=now, uuid=once)

    assert FloorEvent.objects.filter(verb="hours").count() == 1
