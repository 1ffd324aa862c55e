"""Where the floor does not agree: both doings are kept, the owner says which counts, the last word wins."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from builds.actions import floor, tasks
from builds.actions.door import Refused
from builds.actions.floor import By
from builds.actions.settling import settle
from builds.models import FloorEvent, HoldPoint, Task
from builds.queries.settling import disagreements
from tests import cast

HOUR = timedelta(hours=1)


@pytest.fixture
def wren(joiner):
    return By(person=joiner)


@pytest.fixture
def ash(shop):
    return By(person=cast.make_person("Ash Fenn", "joinery"))


@pytest.fixture
def cut(small_build) -> Task:
    return small_build.tasks.get(key="cut-parts")


def late(by: By, at) -> By:
    return replace(by, uuid=uuid.uuid4(), device_at=at)


def again(task: Task) -> Task:
    return Task.objects.get(pk=task.pk)


def open_line():
    (line,) = disagreements().open
    return line


def event_of(line) -> FloorEvent:
    return FloorEvent.objects.get(pk=line.event)


def test_tick_then_untick_offline_leave_the_work_as_it_was(cut, wren, now):
    tick = floor.tick_task(task=cut, hours="4", by=late(wren, now - 2 * HOUR), now=now)
    floor.undo(event=tick.event, by=late(wren, now - HOUR), now=now)

    assert again(cut).state == "to do"
    assert disagreements().open == ()


def test_two_fitters_tick_one_task_and_agree(cut, wren, ash, now):
    floor.tick_task(task=cut, hours="4", by=wren, now=now)
    floor.tick_task(task=cut, hours="4", by=late(ash, now - HOUR), now=now)

    assert (again(cut).state, again(cut).hours_taken) == ("done", Decimal(4))
    assert sorted(again(cut).crew_on_it) == sorted([wren.person.pk, ash.person.pk])
    assert disagreements().open == ()


def test_two_fitters_tick_one_task_with_different_hours_and_the_owner_keeps_one(cut, wren, ash, owner, now):
    floor.tick_task(task=cut, hours="4", by=wren, now=now)
    floor.tick_task(task=cut, hours="6", by=late(ash, now + HOUR), now=now + 2 * HOUR)

    line = open_line()
    assert line.that.startswith("Wren Alder ticked it with 4")
    assert line.this.startswith("Ash Fenn ticked it with 6")
    assert again(cut).hours_taken == 4

    settle(event=event_of(line), keep="this", user=owner, now=now + 3 * HOUR)
    assert (again(cut).state, again(cut).hours_taken) == ("done", Decimal(6))
    assert disagreements().open == ()

    settle(event=event_of(line), keep="that", user=owner, now=now + 4 * HOUR)
    assert again(cut).hours_taken == 4
    assert "the earlier one counts" in disagreements().settled[0].settled
    assert FloorEvent.objects.filter(verb="settle").count() == 2


def test_a_stop_that_crossed_a_tick_opens_the_work_when_the_owner_keeps_it(cut, wren, ash, owner, now):
    floor.tick_task(task=cut, hours="4", by=wren, now=now)
    floor.stop_task(task=cut, reason="broken or wrong", by=late(ash, now + HOUR), now=now + 2 * HOUR)
    assert again(cut).state == "done"

    settle(event=event_of(open_line()), keep="this", user=owner, now=now + 3 * HOUR)

    task = again(cut)
    assert (task.state, task.stop_reason, task.finished_at) == ("stopped", "broken or wrong", None)
    assert task.hours_taken is None


def test_a_late_tick_from_before_a_stop_is_shown_too(cut, wren, ash, owner, now):
    floor.start_task(task=cut, by=wren, now=now)
    floor.stop_task(task=cut, reason="place is taken", by=wren, now=now + 2 * HOUR)
    floor.tick_task(task=cut, hours="1", by=late(ash, now + HOUR), now=now + 3 * HOUR)

    line = open_line()
    assert (again(cut).state, line.this[:8], line.that[:10]) == ("done", "Ash Fenn", "Wren Alder")

    settle(event=event_of(line), keep="that", user=owner, now=now + 4 * HOUR)
    assert (again(cut).state, again(cut).stop_reason) == ("stopped", "place is taken")


def test_work_that_is_not_done_after_all_opens_the_check_behind_it(small_build, cut, wren, ash, owner, now):
    glue = small_build.tasks.get(key="glue-up")
    check = HoldPoint.objects.create(task=glue, kind="own", name="Square", state="passed")
    floor.tick_task(task=cut, hours="4", by=wren, now=now)
    floor.stop_task(task=cut, reason="broken or wrong", by=late(ash, now + HOUR), now=now + 2 * HOUR)

    settle(event=event_of(open_line()), keep="this", user=owner, now=now + 3 * HOUR)

    assert HoldPoint.objects.get(pk=check.pk).state == "reopened"


def test_a_signed_check_is_not_opened_by_settling(cut, wren, ash, owner, now):
    floor.tick_task(task=cut, hours="4", by=wren, now=now)
    floor.stop_task(task=cut, reason="broken or wrong", by=late(ash, now + HOUR), now=now + 2 * HOUR)
    HoldPoint.objects.create(task=cut, kind="own", name="Square", state="passed")

    with pytest.raises(Refused, match="is signed"):
        settle(event=event_of(open_line()), keep="this", user=owner, now=now + 3 * HOUR)


def test_what_came_late_for_work_taken_out_is_kept_and_can_only_be_seen(cut, wren, owner, now):
    tasks.remove_task(task=cut, now=now, by=owner)
    floor.tick_task(task=cut, hours="4", by=late(wren, now - HOUR), now=now + HOUR)

    line = open_line()
    assert "not in the plan any more" in line.why
    with pytest.raises(Refused, match="only be seen"):
        settle(event=event_of(line), keep="this", user=owner, now=now)
    settle(event=event_of(line), keep="seen", user=owner, now=now + HOUR)

    assert disagreements().open == ()
    assert again(cut).removed_at is not None


def test_a_tick_from_before_the_owner_changed_the_work_is_shown(cut, wren, owner, now):
    fields = {"hours": Decimal(9), "hours_low": Decimal(8), "hours_high": Decimal(12)}
    tasks.change_task(task=cut, fields=fields, version=None, now=now, by=owner)

    floor.tick_task(task=cut, hours="4", by=late(wren, now - HOUR), now=now + HOUR)

    assert "the owner changed this work" in open_line().why
    assert again(cut).state == "done"


def test_a_tick_after_the_owner_changed_the_work_is_nobodys_business(cut, wren, owner, now):
    tasks.split_task(task=cut, first_hours=Decimal(2), now=now, by=owner)

    floor.tick_task(task=cut, hours="4", by=late(wren, now + HOUR), now=now + 2 * HOUR)

    assert disagreements().open == ()


def test_what_agrees_is_not_settled(cut, wren, owner, now):
    answer = floor.tick_task(task=cut, hours="4", by=wren, now=now)

    with pytest.raises(Refused, match="nothing to settle"):
        settle(event=answer.event, keep="seen", user=owner, now=now)


@pytest.mark.parametrize("keep", ["", "both", "this\x00"])
def test_a_word_nobody_knows_settles_nothing(cut, wren, ash, owner, now, keep):
    floor.tick_task(task=cut, hours="4", by=wren, now=now)
    floor.tick_task(task=cut, hours="6", by=late(ash, now + HOUR), now=now + 2 * HOUR)

    with pytest.raises(Refused, match="which of the two"):
        settle(event=event_of(open_line()), keep=keep, user=owner, now=now)


def test_the_same_word_sent_twice_is_kept_once(cut, wren, ash, owner, now):
    floor.tick_task(task=cut, hours="4", by=wren, now=now)
    floor.tick_task(task=cut, hours="6", by=late(ash, now + HOUR), now=now + 2 * HOUR)
    once = uuid.uuid4()

    for _ in range(2):
        event = FloorEvent.objects.get(outcome="to settle")
        settle(event=event, keep="this", user=owner, now=now + 3 * HOUR, uuid=once)

    assert FloorEvent.objects.filter(verb="settle").count() == 1
