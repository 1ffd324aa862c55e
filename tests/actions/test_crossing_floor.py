"""What reaches the shop at the same moment: the same thing twice, and things that cross."""

from __future__ import annotations

import io
import threading
import uuid
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest
from django.db import connection
from PIL import Image

from builds.actions import floor, tasks
from builds.actions.door import Refused
from builds.actions.floor import By
from builds.actions.floor_events import keep_refusal, state_of
from builds.actions.planning import planned_by_hand
from builds.models import FloorEvent, Note, Photo, Tablet, Task
from builds.queries.settling import disagreements
from tests import cast

pytestmark = [pytest.mark.database, pytest.mark.django_db(transaction=True)]

AT_ONCE = 6


@pytest.fixture
def task(small_build) -> Task:
    return small_build.tasks.get(key="cut-parts")


@pytest.fixture
def by(joiner, now) -> By:
    """Wren, an hour ago, out of the queue of the bench's tablet."""
    tablet = Tablet.objects.create(name="Bench", paired_at=now)
    hour = timedelta(hours=1)
    return By(person=joiner, tablet=tablet, uuid=uuid.uuid4(), sequence=1, device_at=now - hour)


@pytest.fixture
def ash(shop, now) -> By:
    tablet = Tablet.objects.create(name="Van", paired_at=now)
    person = cast.make_person("Ash Fenn", "joinery")
    return By(person=person, tablet=tablet, uuid=uuid.uuid4(), sequence=1, device_at=now - timedelta(hours=1))


def at_once(*acts: Callable[[], object]) -> list[object]:
    """Does all of them at the same moment; gives what each returned, or the words it was refused with."""
    together = threading.Barrier(len(acts))
    found: list[object] = [None] * len(acts)

    def run(n: int, act: Callable[[], object]) -> None:
        try:
            with planned_by_hand():
                together.wait()
                found[n] = act()
        except Refused as refused:
            found[n] = refused.words
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=pair) for pair in enumerate(acts)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return found


def picture() -> io.BytesIO:
    into = io.BytesIO()
    Image.new("RGB", (64, 48), "tan").save(into, "JPEG")
    into.seek(0)
    return into


def assert_told_by_its_events(task: Task) -> None:
    found = Task.objects.get(pk=task.pk)
    assert {name: getattr(found, name) for name in state_of(found)} == state_of(found)


def test_one_tick_that_comes_six_times_at_once_is_one_tick_with_one_answer(task, by, now):
    answers = at_once(*[lambda: floor.tick_task(task=task, hours="4", by=by, now=now)] * AT_ONCE)

    assert {(answer.event.pk, answer.words) for answer in answers} == {(FloorEvent.objects.get().pk, "Done")}
    assert sorted(answer.again for answer in answers) == [False] + [True] * (AT_ONCE - 1)
    assert Task.objects.get(pk=task.pk).hours_taken == 4


def test_one_photo_that_comes_six_times_at_once_is_one_photo(task, by, now, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path

    def add():
        return floor.add_photo(file=picture(), build=task.build, task=task, by=by, now=now)

    answers = at_once(*[add] * AT_ONCE)

    photo = Photo.objects.get()
    assert {answer.event.payload["photo"] for answer in answers} == {photo.pk}
    assert len([path for path in tmp_path.rglob("*") if path.is_file()]) == 2


def test_one_refusal_that_comes_six_times_at_once_is_kept_once(small_build, by, now):
    glue = small_build.tasks.get(key="glue-up")

    def tick():
        try:
            return floor.tick_task(task=glue, hours="1", by=by, now=now).words
        except Refused as refused:
            about = {"task": glue, "build": small_build, "payload": {}}
            return keep_refusal(refused, "tick", by=by, now=now, **about).words

    words = at_once(*[tick] * AT_ONCE)

    event = FloorEvent.objects.get()
    assert (event.outcome, {event.answer}) == ("refused", set(words))
    assert [line.event for line in disagreements().open] == [event.pk]


def test_two_tabs_that_send_one_queue_at_once_leave_it_once_and_in_order(task, by, now):
    queue = [
        replace(by, uuid=uuid.uuid4(), sequence=n, device_at=now - timedelta(minutes=60 - n))
        for n in range(1, 13)
    ]

    def send_all():
        for n, each in enumerate(queue):
            floor.add_note(build=task.build, task=task, text=f"Note {n}", by=each, now=now)

    at_once(send_all, send_all, send_all)

    assert [event.uuid for event in FloorEvent.objects.order_by("pk")] == [each.uuid for each in queue]
    assert list(FloorEvent.objects.order_by("pk").values_list("sequence", flat=True)) == list(range(1, 13))
    assert list(Note.objects.order_by("pk").values_list("text", flat=True)) == [
        f"Note {n}" for n in range(12)
    ]


def test_two_fitters_who_tick_one_task_at_once_are_both_kept_for_the_owner_to_settle(task, by, ash, now):
    at_once(
        lambda: floor.tick_task(task=task, hours="4", by=by, now=now),
        lambda: floor.tick_task(task=task, hours="6", by=ash, now=now),
    )

    assert {event.person for event in FloorEvent.objects.filter(verb="tick")} == {by.person, ash.person}
    assert len(disagreements().open) == 1
    assert Task.objects.get(pk=task.pk).state == "done"
    assert_told_by_its_events(task)


@pytest.mark.parametrize("turn", range(3))
def test_a_tick_a_stop_and_the_owners_change_at_once_lose_nothing(task, by, ash, owner, now, turn):
    fields = {"name": "Cut other parts"}
    acts = [
        lambda: floor.tick_task(task=task, hours="4", by=by, now=now),
        lambda: floor.stop_task(task=task, reason="broken or wrong", by=ash, now=now),
        lambda: tasks.change_task(task=task, fields=fields, version=None, now=now, by=owner),
    ]

    at_once(*acts[turn:], *acts[:turn])

    assert {event.verb for event in FloorEvent.objects.all()} == {"tick", "stop"}
    assert "refused" not in {event.outcome for event in FloorEvent.objects.all()}
    found = Task.objects.get(pk=task.pk)
    assert (found.name, found.state) == ("Cut other parts", "done")
    assert_told_by_its_events(task)


def test_a_tick_and_the_owner_who_takes_the_work_out_at_once_leave_the_tick_on_record(task, by, owner, now):
    answers = at_once(
        lambda: floor.tick_task(task=task, hours="4", by=by, now=now),
        lambda: tasks.remove_task(task=task, now=now, by=owner),
    )

    event = FloorEvent.objects.get(verb="tick")
    assert event.person == by.person
    assert Task.objects.get(pk=task.pk).removed_at == now
    came_late = "not in the plan any more" in event.answer
    assert came_late == bool(disagreements().open)
    assert not any(isinstance(answer, str) for answer in answers)


def test_a_press_and_what_takes_it_back_may_be_sent_by_two_tabs_at_once(task, by, now):
    pressed = floor.tick_task(task=task, hours="4", by=by, now=now).event
    back = replace(by, uuid=uuid.uuid4(), sequence=2, device_at=now - timedelta(minutes=30))

    at_once(*[lambda: floor.undo(event=pressed, by=back, now=now)] * AT_ONCE)

    assert list(FloorEvent.objects.order_by("pk").values_list("verb", flat=True)) == ["tick", "undo"]
    assert Task.objects.get(pk=task.pk).state == "to do"
