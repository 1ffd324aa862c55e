"""The floor's actions: what may be done when, and what is left of it."""

from __future__ import annotations

import random
import uuid
from contextlib import suppress
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from builds.actions import floor
from builds.actions.door import Gone, Refused
from builds.actions.floor import By
from builds.actions.floor_events import state_of
from builds.models import Delivery, FloorEvent, HoldPoint, Link, Note, Snag, Task
from tests import cast


@pytest.fixture
def by(joiner):
    return By(person=joiner)


@pytest.fixture
def cut(small_build) -> Task:
    return small_build.tasks.get(key="cut-parts")


@pytest.fixture
def glue(small_build) -> Task:
    return small_build.tasks.get(key="glue-up")


@pytest.fixture
def fit(small_build) -> Task:
    return small_build.tasks.get(key="fit-unit")


def again(task: Task) -> Task:
    return Task.objects.get(pk=task.pk)


def test_a_start_is_refused_while_the_work_before_is_not_done(glue, by, now):
    with pytest.raises(Refused, match="“Cut parts” is not done"):
        floor.start_task(task=glue, by=by, now=now)

    assert not FloorEvent.objects.exists()


def test_a_start_is_refused_until_the_wait_is_over(cut, glue, fit, by, now):
    floor.tick_task(task=cut, hours="4", by=by, now=now)
    floor.tick_task(task=glue, hours="3", by=by, now=now)

    with pytest.raises(Refused, match="“Glue up” needs until 08:00"):
        floor.start_task(task=fit, by=by, now=now + timedelta(hours=23))
    floor.start_task(task=fit, by=by, now=now + timedelta(hours=24))

    assert again(fit).state == "under way"


def test_a_start_is_refused_until_the_check_before_has_passed(cut, glue, by, now):
    check = HoldPoint.objects.create(task=cut, kind="openings_hose", name="Hose test")
    Task.objects.filter(pk=cut.pk).update(state="done", started_at=now, finished_at=now)

    with pytest.raises(Refused, match="The check “Hose test” is not passed"):
        floor.start_task(task=glue, by=by, now=now)
    HoldPoint.objects.filter(pk=check.pk).update(state="failed")
    with pytest.raises(Refused, match="failed and waits for a recheck"):
        floor.start_task(task=glue, by=by, now=now)


def test_a_task_with_a_check_is_not_ticked_past_it(cut, by, now):
    HoldPoint.objects.create(task=cut, kind="openings_hose", name="Hose test")

    with pytest.raises(Refused, match="Sign “Hose test”"):
        floor.tick_task(task=cut, hours="1", by=by, now=now)


def test_dry_ends_a_wait_and_not_yet_stretches_it(cut, glue, fit, by, now):
    floor.tick_task(task=cut, hours="4", by=by, now=now)
    floor.tick_task(task=glue, hours="3", by=by, now=now)
    link = Link.objects.get(before=glue, after=fit)

    floor.not_dry_yet(link=link, hours_more="30", by=by, now=now)
    with pytest.raises(Refused, match="needs until 14:00"):
        floor.start_task(task=fit, by=by, now=now + timedelta(hours=25))
    floor.say_dry(link=link, by=by, now=now + timedelta(hours=2))
    floor.start_task(task=fit, by=by, now=now + timedelta(hours=2))

    assert again(fit).state == "under way"


def test_nothing_dries_before_it_was_ticked(glue, fit, by, now):
    with pytest.raises(Refused, match="is not ticked, so nothing dries yet"):
        floor.say_dry(link=Link.objects.get(before=glue, after=fit), by=by, now=now)


def test_a_part_not_on_the_kit_shelf_has_to_be_confirmed(cut, by, now):
    Delivery.objects.create(what="Birch ply", expected_on=now.date(), arrived_on=now.date()).tasks.add(cut)

    with pytest.raises(floor.NeedsWord, match="not found on the kit shelf"):
        floor.start_task(task=cut, by=by, now=now)
    floor.start_task(task=cut, by=by, now=now, found_anyway=True)

    assert FloorEvent.objects.get().payload["missing"] == ["Birch ply"]


def test_licensed_work_needs_a_name_and_keeps_it(small_build, by, now):
    gas = cast.make_task(small_build, "pipe", trade_id="gas")

    with pytest.raises(floor.NeedsName):
        floor.start_task(task=gas, by=by, now=now)
    floor.start_task(task=gas, by=by, now=now, competent_person="Osric Vane, 00-test")
    floor.tick_task(task=gas, hours="1", by=by, now=now)

    assert FloorEvent.objects.get(verb="start").payload["competent_person"] == "Osric Vane, 00-test"


def test_a_tick_keeps_hours_and_the_second_press_of_one_form_does_nothing(cut, by, now):
    once = replace(by, uuid=uuid.uuid4())

    first = floor.tick_task(task=cut, hours="4,5", by=once, now=now)
    second = floor.tick_task(task=cut, hours="4.5", by=once, now=now + timedelta(seconds=1))

    assert (first.again, second.again) == (False, True)
    assert FloorEvent.objects.count() == 1
    assert again(cut).hours_taken == Decimal("4.50")


def test_a_second_tick_by_somebody_else_is_kept_for_the_owner_to_settle(cut, by, now):
    other = cast.make_person("Finch Moss", "joinery")

    floor.tick_task(task=cut, hours="4", by=by, now=now)
    answer = floor.tick_task(task=cut, hours="6", by=By(person=other), now=now + timedelta(minutes=1))

    assert answer.outcome == "to settle"
    assert again(cut).hours_taken == Decimal("4.00")


@pytest.mark.parametrize("hours", ["", "none", "-1", "0", "201", "nan", "1e9"])
def test_hours_that_are_none_are_refused_at_their_field(cut, by, now, hours):
    with pytest.raises(Refused) as refused:
        floor.tick_task(task=cut, hours=hours, by=by, now=now)

    assert refused.value.field == "hours"
    assert again(cut).state == "to do"


def test_half_a_day_left_goes_on_tomorrow_with_the_hours_said(cut, by, now):
    floor.half_a_day_left(task=cut, hours_left="4", by=by, now=now)

    task = again(cut)
    assert (task.state, task.hours_left) == ("under way", Decimal("4.00"))


def test_a_stopped_task_says_why_and_goes_on(cut, by, now):
    floor.start_task(task=cut, by=by, now=now)
    with pytest.raises(Refused, match="Say why"):
        floor.stop_task(task=cut, reason="  ", by=by, now=now)
    floor.stop_task(task=cut, reason="parts not found", by=by, now=now)
    assert (again(cut).state, again(cut).stop_reason) == ("stopped", "parts not found")

    floor.go_on(task=cut, by=by, now=now)

    assert (again(cut).state, again(cut).stop_reason) == ("under way", "")


def test_the_latest_is_taken_back_first(cut, by, now):
    start = floor.start_task(task=cut, by=by, now=now)
    tick = floor.tick_task(task=cut, hours="4", by=by, now=now + timedelta(hours=4))

    with pytest.raises(Refused, match="Take the latest back first"):
        floor.undo(event=start.event, by=by, now=now + timedelta(hours=5))
    floor.undo(event=tick.event, by=by, now=now + timedelta(hours=5))
    floor.undo(event=tick.event, by=by, now=now + timedelta(hours=5))
    floor.undo(event=start.event, by=by, now=now + timedelta(hours=5))

    assert (again(cut).state, again(cut).started_at) == ("to do", None)
    assert FloorEvent.objects.filter(verb="undo").count() == 2


def test_a_tick_stays_once_a_follower_has_started(cut, glue, by, now):
    tick = floor.tick_task(task=cut, hours="4", by=by, now=now)
    floor.start_task(task=glue, by=by, now=now)

    with pytest.raises(Refused, match="“Glue up” has started since"):
        floor.undo(event=tick.event, by=by, now=now)


def test_notes_and_snags_are_kept_and_can_be_taken_back(cut, small_build, by, now):
    note = floor.add_note(build=small_build, task=cut, text="Door side is <b>out</b>", by=by, now=now)
    snag = floor.add_snag(build=small_build, task=cut, text="Scratch by the step", by=by, now=now)
    assert (Note.objects.count(), Snag.objects.count()) == (1, 1)

    floor.undo(event=note.event, by=by, now=now)
    floor.undo(event=snag.event, by=by, now=now)

    assert (Note.objects.count(), Snag.objects.count()) == (0, 0)


def test_a_note_of_more_letters_than_allowed_is_refused(cut, small_build, by, now):
    floor.add_note(build=small_build, task=cut, text="x" * 10_000, by=by, now=now)
    with pytest.raises(Refused, match="10,001 letters"):
        floor.add_note(build=small_build, task=cut, text="x" * 10_001, by=by, now=now)


def test_work_taken_out_meets_no_live_action_but_keeps_a_late_one(cut, by, now):
    Task.objects.filter(pk=cut.pk).update(removed_at=now)

    with pytest.raises(Gone):
        floor.start_task(task=cut, by=by, now=now)
    late = replace(by, uuid=uuid.uuid4(), device_at=now - timedelta(hours=1))
    answer = floor.start_task(task=cut, by=late, now=now)

    assert answer.outcome == "to settle"


def test_a_dropped_build_takes_no_more_work(cut, small_build, by, now):
    small_build.status = "dropped"
    small_build.save()

    with pytest.raises(Refused, match="dropped"):
        floor.start_task(task=cut, by=by, now=now)


def test_a_bulk_tick_leaves_what_carries_a_check(cut, glue, small_build, owner, now):
    HoldPoint.objects.create(task=glue, kind="openings_hose", name="Hose test")

    done = floor.bulk_tick(build=small_build, tasks=[cut, glue], user=owner, now=now)

    assert ([t.pk for t in done.ticked], [t.pk for t in done.checks_left]) == ([cut.pk], [glue.pk])


@pytest.mark.parametrize("seed", range(12))
def test_the_state_of_every_task_is_its_events_told_again(small_build, joiner, now, seed):
    chance = random.Random(seed)
    people = [joiner, cast.make_person("Finch Moss", "joinery")]
    tasks = list(small_build.tasks.order_by("order"))
    clock = now
    for _ in range(30):
        clock += timedelta(hours=chance.choice((1, 5, 30)))
        _do_something(chance, chance.choice(tasks), By(person=chance.choice(people)), clock)

    for task in Task.objects.filter(build=small_build):
        rebuilt = state_of(task)
        assert {name: getattr(task, name) for name in rebuilt} == rebuilt
    assert FloorEvent.objects.count() > 5


def _do_something(chance: random.Random, task: Task, by: By, now) -> None:
    late = replace(by, uuid=uuid.uuid4(), device_at=now - timedelta(hours=chance.choice((1, 9))))
    by = chance.choice((by, by, late))
    last = FloorEvent.objects.filter(task=task).order_by("?").first()
    acts = [
        lambda: floor.start_task(task=task, by=by, now=now),
        lambda: floor.tick_task(task=task, hours=chance.choice(("1", "2.5")), by=by, now=now),
        lambda: floor.half_a_day_left(task=task, hours_left="2", by=by, now=now),
        lambda: floor.stop_task(task=task, reason="place is taken", by=by, now=now),
        lambda: floor.go_on(task=task, by=by, now=now),
        lambda: last and floor.undo(event=last, by=by, now=now),
    ]
    with suppress(Refused):
        chance.choice(acts)()
