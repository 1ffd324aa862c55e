"""Forms that waited on a tablet: both clocks kept, done once, in order, refusals kept too."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse

from builds.actions.tasks import remove_task
from builds.models import Build, FloorEvent, Link, Shop, Tablet, Task
from tests import cast
from tests.screens.test_access import pair


@pytest.fixture(autouse=True)
def at_eight(now):
    with time_machine.travel(now, tick=False):
        yield


@pytest.fixture
def tablet(client, small_build, now):
    pair(client)
    Tablet.objects.update(last_seen_at=now)
    return client


def queued(
    tablet, joiner, verb, number, typed, *, done_at, sent_at=cast.NOW, queue_number=1, once=None, **more
):
    return tablet.post(
        reverse(f"floor:{verb}", args=[joiner.pk, number]),
        {"once": once or uuid.uuid4(), **typed},
        HTTP_X_QUEUE_NUMBER=str(queue_number),
        HTTP_X_DONE_AT=done_at.isoformat(),
        HTTP_X_SENT_AT=sent_at.isoformat(),
        **more,
    )


def settle_list(client, owner) -> str:
    client.force_login(owner)
    return client.get(reverse("owner:settle-list")).content.decode()


def test_a_tick_that_waited_happened_when_it_was_pressed(tablet, joiner, small_build, now):
    cut = small_build.tasks.get(key="cut-parts")

    answer = queued(tablet, joiner, "task-tick", cut.pk, {"hours": "4"}, done_at=now - timedelta(hours=2))

    assert answer.json() == {"outcome": "kept", "words": "Done"}
    event = FloorEvent.objects.get()
    assert (event.happened_at, event.received_at, event.sequence) == (now - timedelta(hours=2), now, 1)


def test_a_clock_an_hour_slow_is_put_right_by_the_offset(tablet, joiner, small_build, now):
    cut = small_build.tasks.get(key="cut-parts")
    hour = timedelta(hours=1)

    queued(tablet, joiner, "task-tick", cut.pk, {"hours": "4"}, done_at=now - 3 * hour, sent_at=now - hour)

    assert FloorEvent.objects.get().happened_at == now - 2 * hour


def test_an_answer_that_was_lost_is_given_again_and_nothing_is_done_twice(tablet, joiner, small_build, now):
    cut, once = small_build.tasks.get(key="cut-parts"), uuid.uuid4()

    answers = [
        queued(tablet, joiner, "task-tick", cut.pk, {"hours": "4"}, done_at=now, once=once).json()
        for _ in range(3)
    ]

    assert answers == [{"outcome": "kept", "words": "Done"}] * 3
    assert FloorEvent.objects.count() == 1


def test_a_refusal_is_kept_and_told_alike_ever_after(tablet, joiner, small_build, now):
    glue, once = small_build.tasks.get(key="glue-up"), uuid.uuid4()

    first = queued(tablet, joiner, "task-tick", glue.pk, {"hours": "4"}, done_at=now, once=once).json()
    Task.objects.filter(key="cut-parts").update(state="done", finished_at=now, started_at=now)
    again = queued(tablet, joiner, "task-tick", glue.pk, {"hours": "4"}, done_at=now, once=once).json()

    assert first == again
    assert first["outcome"] == "refused"
    assert "“Cut parts” is not done" in first["words"]
    assert Task.objects.get(pk=glue.pk).state == "to do"


def test_the_owner_sees_in_one_line_what_does_not_agree(tablet, joiner, small_build, now, owner):
    glue = small_build.tasks.get(key="glue-up")
    queued(tablet, joiner, "task-tick", glue.pk, {"hours": "4"}, done_at=now)
    tablet.force_login(owner)

    page = tablet.get(reverse("owner:settle-list")).content.decode()

    assert "Wren Alder ticked it with 4" in page
    assert "“Cut parts” is not done" in page


def test_what_a_leaver_did_before_is_credited_to_them(tablet, joiner, small_build, now):
    cut = small_build.tasks.get(key="cut-parts")
    type(joiner).objects.filter(pk=joiner.pk).update(left_on=now.date())

    queued(tablet, joiner, "task-tick", cut.pk, {"hours": "4"}, done_at=now - timedelta(hours=20))

    assert FloorEvent.objects.get().person == joiner


def test_what_comes_late_for_a_van_that_was_handed_over_is_kept_and_shown(
    tablet, joiner, small_build, now, owner
):
    cut = small_build.tasks.get(key="cut-parts")
    Build.objects.update(status="handed over")

    answer = queued(tablet, joiner, "task-tick", cut.pk, {"hours": "4"}, done_at=now)

    assert answer.json()["outcome"] == "to settle"
    assert Task.objects.get(pk=cut.pk).state == "done"
    assert "was handed over in the meantime" in settle_list(tablet, owner)


def test_a_word_about_a_wait_before_work_that_was_taken_out_is_kept_and_shown(
    tablet, joiner, small_build, now, owner
):
    fit = small_build.tasks.get(key="fit-unit")
    Task.objects.filter(key="glue-up").update(state="done", started_at=now, finished_at=now)
    remove_task(task=fit, now=now, by=owner)

    answer = queued(tablet, joiner, "wait-not-yet", fit.links_in.get().pk, {"hours_more": "4"}, done_at=now)

    assert answer.json()["outcome"] == "to settle"
    assert "not in the plan any more" in settle_list(tablet, owner)


def test_a_word_about_a_wait_that_is_gone_is_kept_and_shown(tablet, joiner, small_build, now, owner):
    wait = small_build.tasks.get(key="fit-unit").links_in.get().pk
    Link.objects.all().delete()
    once = uuid.uuid4()

    answers = [
        queued(tablet, joiner, "wait-not-yet", wait, {"hours_more": "4"}, done_at=now, once=once).json()
        for _ in range(2)
    ]

    assert answers[0] == answers[1]
    assert answers[0]["outcome"] == "refused"
    assert FloorEvent.objects.get().person == joiner
    assert "not in the plan any more" in settle_list(tablet, owner)


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("last", ["task-tick", "task-note", "refused"])
def test_a_queue_that_is_sent_makes_one_plan_at_its_end_whatever_comes_last(
    tablet, joiner, small_build, now, last
):
    cut = small_build.tasks.get(key="cut-parts")
    typed = {"hours": "4"} if last == "task-tick" else {"text": "" if last == "refused" else "Felt is short"}
    verb = "task-note" if last == "refused" else last
    waiting = [("task-start", {}), ("task-stop", {"reason": "place is taken"}), (verb, typed)]
    stale = []
    for n, (each, words) in enumerate(waiting, start=1):
        behind = str(len(waiting) - n)
        queued(tablet, joiner, each, cut.pk, words, done_at=now, queue_number=n, HTTP_X_QUEUE_BEHIND=behind)
        stale.append(Shop.objects.get().plan_is_stale)

    assert stale == [True, True, False]


def test_a_press_with_the_network_on_a_van_that_was_handed_over_finds_nothing(tablet, joiner, small_build):
    cut = small_build.tasks.get(key="cut-parts")
    Build.objects.update(status="handed over")

    answer = tablet.post(reverse("floor:task-tick", args=[joiner.pk, cut.pk]), {"hours": "4"})

    assert answer.status_code == 404
    assert not FloorEvent.objects.exists()


@pytest.mark.parametrize("verb", ["task-note", "task-snag", "task-stop", "task-half-day", "task-photo"])
def test_an_empty_form_that_waited_is_refused_in_words(tablet, joiner, small_build, now, verb):
    cut = small_build.tasks.get(key="cut-parts")

    answer = queued(tablet, joiner, verb, cut.pk, {}, done_at=now)

    assert (answer.status_code, answer.json()["outcome"]) == (200, "refused")
    assert Task.objects.get(pk=cut.pk).state == "to do"


@pytest.mark.parametrize("clock", ["", "yesterday", "2027-03-01T08:00:00", "9999-99-99T00:00:00Z"])
def test_unreadable_clocks_make_it_an_ordinary_press(tablet, joiner, small_build, clock):
    cut = small_build.tasks.get(key="cut-parts")

    answer = tablet.post(
        reverse("floor:task-tick", args=[joiner.pk, cut.pk]),
        {"once": uuid.uuid4(), "hours": "4"},
        HTTP_X_QUEUE_NUMBER="1",
        HTTP_X_DONE_AT=clock,
        HTTP_X_SENT_AT=clock,
    )

    assert answer.status_code == 302
    assert FloorEvent.objects.get().device_at is None


def test_a_withdrawn_tablet_is_told_that_nothing_is_lost(tablet, joiner, small_build, now):
    Tablet.objects.update(withdrawn_at=now)
    cut = small_build.tasks.get(key="cut-parts")

    answer = queued(tablet, joiner, "task-tick", cut.pk, {"hours": "4"}, done_at=now)

    assert answer.status_code == 401
    assert not FloorEvent.objects.exists()


def test_the_script_and_the_manifest_are_served_from_the_root(client, shop):
    script = client.get(reverse("service-worker"))
    manifest = client.get(reverse("web-manifest"))

    assert script["Content-Type"].startswith("text/javascript")
    assert manifest.json()["start_url"] == reverse("floor:names")
