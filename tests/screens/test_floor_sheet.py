"""The fitter's job sheet on a paired tablet: what it shows, what it takes, what it refuses in words."""

from __future__ import annotations

import io
import uuid
from datetime import timedelta

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from PIL import Image

from builds.actions import floor
from builds.actions.floor import By
from builds.actions.planning import replan
from builds.models import Delivery, FloorEvent, Link, Note, Photo, PlanRow, Snag, Tablet, Task
from tests import cast
from tests.screens.fragments import assert_same_as_fresh
from tests.screens.test_access import pair

HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture(autouse=True)
def at_eight(now, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    with time_machine.travel(now, tick=False):
        yield


@pytest.fixture
def tablet(client, small_build, now):
    pair(client)
    Tablet.objects.update(last_seen_at=now)
    replan(now=now)
    return client


@pytest.fixture
def cut(small_build):
    return small_build.tasks.get(key="cut-parts")


def sheet(joiner) -> str:
    return reverse("floor:job-sheet", args=[joiner.pk])


def act(verb: str, joiner, number: int) -> str:
    return reverse(f"floor:{verb}", args=[joiner.pk, number])


def text(response) -> str:
    return response.content.decode()


def test_a_name_is_tapped_and_the_sheet_is_theirs(tablet, joiner):
    Person = type(joiner)
    Person.objects.create(name="Gone Away", left_on=cast.NOW.date())

    names = text(tablet.get(reverse("floor:names")))

    assert "Wren Alder" in names
    assert "Gone Away" not in names
    assert "Cut parts" in text(tablet.get(sheet(joiner)))


def test_what_cannot_start_says_why_and_offers_no_start(tablet, joiner, small_build, now):
    glue = small_build.tasks.get(key="glue-up")

    page = text(tablet.get(sheet(joiner)))

    assert "“Cut parts” is not done." in page
    assert act("task-start", joiner, glue.pk) not in page
    assert act("task-tick", joiner, glue.pk) not in page


def test_what_lies_on_the_kit_shelf_and_what_does_not_is_told(tablet, joiner, cut, now):
    here = Delivery.objects.create(what="Cam locks", expected_on=now.date(), on_shelf_on=now.date())
    lost = Delivery.objects.create(what="Birch ply", expected_on=now.date(), arrived_on=now.date())
    here.tasks.add(cut)
    lost.tasks.add(cut)

    page = text(tablet.get(sheet(joiner)))

    assert "On the kit shelf: Cam locks" in page
    assert "Birch ply: came, but not found on the kit shelf yet" in page
    assert "I have it all: start" in page


@pytest.mark.parametrize(
    ("verb", "typed", "state"),
    [
        ("task-start", {}, "under way"),
        ("task-tick", {"hours": "4"}, "done"),
        ("task-half-day", {"hours_left": "4"}, "under way"),
        ("task-half-day", {"hours_left_typed": "3,5"}, "under way"),
        ("task-stop", {"reason": "place is taken"}, "stopped"),
        ("task-stop", {"reason_typed": "waits for a van"}, "stopped"),
    ],
)
def test_one_press_does_it_and_the_answer_equals_a_fresh_load(tablet, joiner, cut, verb, typed, state):
    before = text(tablet.get(sheet(joiner)))

    answer = tablet.post(act(verb, joiner, cut.pk), {"once": uuid.uuid4(), **typed}, **HTMX)

    assert answer.status_code == 200
    assert Task.objects.get(pk=cut.pk).state == state
    assert_same_as_fresh(before, text(answer), text(tablet.get(sheet(joiner))), "sheet")


def test_a_double_press_of_one_form_is_one_tick(tablet, joiner, cut):
    form = {"once": uuid.uuid4(), "hours": "4"}

    for _ in range(2):
        assert tablet.post(act("task-tick", joiner, cut.pk), form).status_code == 302

    event = FloorEvent.objects.get()
    assert (event.verb, event.person, event.tablet) == ("tick", joiner, Tablet.objects.get())


def test_the_last_thing_is_taken_back_with_one_press(tablet, joiner, cut):
    tablet.post(act("task-start", joiner, cut.pk))
    page = text(tablet.get(sheet(joiner)))
    assert "Started: Cut parts" in page

    tablet.post(act("event-undo", joiner, FloorEvent.objects.get().pk), **HTMX)

    assert Task.objects.get(pk=cut.pk).state == "to do"


@pytest.mark.parametrize(
    ("verb", "typed", "words"),
    [
        ("task-tick", {"hours": "plenty"}, "Hours have to be a number"),
        ("task-tick", {"hours": "-2"}, "Hours go from"),
        ("task-half-day", {"hours_left_typed": "900"}, "Hours go from"),
        ("task-stop", {"reason_typed": " "}, "Say why it stopped"),
        ("task-stop", {"reason_typed": "x" * 201}, "200 is the most"),
        ("task-note", {"text": ""}, "Write a few words first"),
        ("task-note", {"text": "x" * 10_001}, "10,000 is the most"),
        ("task-snag", {"text": "x" * 401}, "400 is the most"),
        ("task-photo", {}, "Take a photo"),
        ("task-go-on", {}, "is not stopped"),
    ],
)
@pytest.mark.parametrize("headers", [{}, HTMX], ids=["page", "fragment"])
def test_wrong_input_is_told_in_place_and_kept(tablet, joiner, cut, verb, typed, words, headers):
    answer = tablet.post(act(verb, joiner, cut.pk), typed, **headers)

    assert answer.status_code == 422
    page = text(answer)
    assert words in page
    assert all(value.strip() == "" or value in page for value in typed.values())
    assert not FloorEvent.objects.exists()


def test_a_refusal_whose_form_is_gone_is_told_on_top(tablet, joiner, cut, now):
    floor.tick_task(task=cut, hours="4", by=By(person=joiner), now=now)

    answer = tablet.post(act("task-stop", joiner, cut.pk), {"reason": "place is taken"}, **HTMX)

    assert answer.status_code == 422
    assert "is ticked already. Undo the tick first" in text(answer)


def test_markup_in_a_note_stays_words(tablet, joiner, cut):
    tablet.post(act("task-note", joiner, cut.pk), {"text": "<b>loud</b>"})

    assert "&lt;b&gt;loud&lt;/b&gt;" in text(tablet.get(sheet(joiner)))
    assert Note.objects.get().person == joiner


def test_a_snag_goes_on_the_list(tablet, joiner, cut):
    tablet.post(act("task-snag", joiner, cut.pk), {"text": "Scratch by the step"})

    assert Snag.objects.get().text == "Scratch by the step"


def test_a_photo_is_kept_once_and_shown_to_this_tablet_only(tablet, joiner, cut, client):
    def picture():
        out = io.BytesIO()
        Image.new("RGB", (400, 300), "teal").save(out, "JPEG")
        out.seek(0)
        out.name = "van.jpg"
        return out

    once = uuid.uuid4()
    for _ in range(2):
        tablet.post(act("task-photo", joiner, cut.pk), {"photo": picture(), "once": once, "behind": "left"})

    photo = Photo.objects.get()
    assert (photo.task, photo.behind) == (cut, "left")
    address = reverse("floor:photo", args=[photo.uuid, "small"])
    assert tablet.get(address)["Content-Type"] == "image/jpeg"
    Tablet.objects.update(withdrawn_at=cast.NOW)
    assert tablet.get(address).status_code == 302


def test_a_file_that_is_no_picture_is_refused(tablet, joiner, cut):
    file = io.BytesIO(b"<svg onload='x'/>")
    file.name = "van.jpg"

    answer = tablet.post(act("task-photo", joiner, cut.pk), {"photo": file}, **HTMX)

    assert answer.status_code == 422
    assert not Photo.objects.exists()


def test_a_coat_is_said_dry_or_not_dry_yet(tablet, joiner, small_build, now):
    tasks = {t.key: t for t in small_build.tasks.all()}
    long_ago = now - timedelta(hours=23)
    for key in ("cut-parts", "glue-up"):
        floor.tick_task(task=tasks[key], hours="1", by=By(person=joiner), now=long_ago)
    PlanRow.objects.filter(task=tasks["fit-unit"]).update(start=now, finish=now + timedelta(hours=2))
    link = Link.objects.get(after=tasks["fit-unit"])
    before = text(tablet.get(sheet(joiner)))
    assert "dry at 09:00" in before

    wrong = tablet.post(act("wait-not-yet", joiner, link.pk), {"hours_more_typed": "soon"}, **HTMX)
    assert (wrong.status_code, "have to be a number" in text(wrong)) == (422, True)
    answer = tablet.post(act("wait-not-yet", joiner, link.pk), {"hours_more": "4"}, **HTMX)
    assert "dry at 12:00 by a fitter’s word" in text(answer)
    answer = tablet.post(act("wait-dry", joiner, link.pk), {}, **HTMX)

    assert_same_as_fresh(before, text(answer), text(tablet.get(sheet(joiner))), "sheet")
    assert act("task-start", joiner, tasks["fit-unit"].pk) in text(answer)


@pytest.mark.parametrize(("hours_ago", "shown"), [(60, "on Sat 27 Feb"), (25, "dry since"), (130, None)])
def test_a_coat_that_was_due_while_the_shop_was_shut_can_still_be_said_wet(
    hours_ago, shown, tablet, joiner, small_build, now
):
    tasks = {t.key: t for t in small_build.tasks.all()}
    for key in ("cut-parts", "glue-up"):
        floor.tick_task(
            task=tasks[key], hours="1", by=By(person=joiner), now=now - timedelta(hours=hours_ago)
        )
    PlanRow.objects.filter(task=tasks["fit-unit"]).update(start=now, finish=now + timedelta(hours=2))
    link = Link.objects.get(after=tasks["fit-unit"])

    page = text(tablet.get(sheet(joiner)))

    assert (f"not-yet-{link.pk}" in page) is (shown is not None)
    assert shown is None or shown in page


def test_licensed_work_asks_for_the_competent_person(tablet, joiner, small_build, now):
    gas = cast.make_task(small_build, "pipe", trade_id="gas")
    PlanRow.objects.create(task=gas, start=now, finish=now + timedelta(hours=1), fitters=[joiner.pk])

    assert "Competent person" in text(tablet.get(sheet(joiner)))
    refused = tablet.post(act("task-start", joiner, gas.pk), {"competent_person": ""}, **HTMX)
    assert (refused.status_code, "needs a competent person" in text(refused)) == (422, True)
    tablet.post(act("task-start", joiner, gas.pk), {"competent_person": "Osric Vane, 00-test"})

    assert Task.objects.get(pk=gas.pk).state == "under way"


@pytest.mark.parametrize("status", ["dropped", "asked", "handed over"])
def test_a_build_that_is_not_in_work_is_not_found(tablet, joiner, cut, small_build, status):
    type(small_build).objects.filter(pk=small_build.pk).update(status=status)

    assert "Cut parts" not in text(tablet.get(sheet(joiner)))
    assert tablet.post(act("task-tick", joiner, cut.pk), {"hours": "1"}).status_code == 404


def test_somebody_who_left_has_no_sheet_and_does_nothing(tablet, joiner, cut, now):
    type(joiner).objects.filter(pk=joiner.pk).update(left_on=now.date())

    assert tablet.get(sheet(joiner)).status_code == 404
    assert tablet.post(act("task-tick", joiner, cut.pk), {"hours": "1"}).status_code == 404
    assert not FloorEvent.objects.exists()


def test_the_sheet_is_not_sent_again_while_nothing_changed(tablet, joiner, cut):
    first = tablet.get(sheet(joiner), **HTMX)

    assert tablet.get(sheet(joiner), HTTP_IF_NONE_MATCH=first["ETag"], **HTMX).status_code == 304
    tablet.post(act("task-start", joiner, cut.pk))

    assert tablet.get(sheet(joiner), HTTP_IF_NONE_MATCH=first["ETag"], **HTMX).status_code == 200


def test_the_sheet_asks_as_often_for_three_tasks_as_for_one(tablet, joiner, small_build, now):
    PlanRow.objects.all().delete()
    _today(cast.make_task(small_build, "one"), joiner, now)
    one = _queries(tablet, sheet(joiner))

    for key in ("two", "three"):
        _today(cast.make_task(small_build, key), joiner, now)
    three = _queries(tablet, sheet(joiner))

    assert one == three <= 12


def test_money_and_customers_stay_off_the_tablet(tablet, joiner, small_build):
    small_build.price_agreed = 48_765
    small_build.save()

    page = text(tablet.get(sheet(joiner)))

    assert "48,765" not in page
    assert "48765" not in page
    assert small_build.customer.name not in page


def _today(task, joiner, now):
    kit = Delivery.objects.create(what=f"Kit for {task}", expected_on=now.date())
    kit.tasks.add(task)
    PlanRow.objects.create(task=task, start=now, finish=now + timedelta(hours=1), fitters=[joiner.pk])


def _queries(client, address) -> int:
    with CaptureQueriesContext(connection) as caught:
        assert client.get(address).status_code == 200
    return len(caught)


@pytest.fixture
def closing(cut):
    type(cut).objects.filter(pk=cut.pk).update(closes_up=True)
    return cut


def test_work_that_closes_up_asks_for_photos_first(tablet, joiner, closing):
    page = text(tablet.get(reverse("floor:job-sheet", args=[joiner.pk])))
    assert "This closes up what is behind" in page
    assert "No photos needed: start" in page

    for verb, typed in (("start", {}), ("tick", {"hours": "1"}), ("half-day", {"hours_left": "2"})):
        address = reverse(f"floor:task-{verb}", args=[joiner.pk, closing.pk])
        answer = tablet.post(address, typed, HTTP_HX_REQUEST="true")
        assert (answer.status_code, "Take photos first" in text(answer)) == (422, True)

    assert type(closing).objects.get(pk=closing.pk).state == "to do"


def test_a_word_that_no_photos_are_needed_is_kept_with_the_start(tablet, joiner, closing):
    tablet.post(reverse("floor:task-start", args=[joiner.pk, closing.pk]), {"without_photos": "yes"})

    assert FloorEvent.objects.get().payload["without_photos"] is True


def test_a_photo_of_the_work_is_enough_to_close_up(tablet, joiner, closing):
    picture = io.BytesIO()
    Image.new("RGB", (64, 48), "teal").save(picture, "JPEG")
    photo = SimpleUploadedFile("a.jpg", picture.getvalue())
    tablet.post(
        reverse("floor:task-photo", args=[joiner.pk, closing.pk]), {"photo": photo, "behind": "Floor"}
    )

    page = text(tablet.get(reverse("floor:job-sheet", args=[joiner.pk])))
    tablet.post(reverse("floor:task-start", args=[joiner.pk, closing.pk]))

    assert "This closes up what is behind" not in page
    assert type(closing).objects.get(pk=closing.pk).state == "under way"
    assert "without_photos" not in FloorEvent.objects.get(verb="start").payload


def test_a_part_of_the_sheet_is_never_taken_for_the_whole_page(tablet, joiner):
    page, part = tablet.get(sheet(joiner)), tablet.get(sheet(joiner), **HTMX)

    assert "no-store" in part["Cache-Control"]
    assert "no-store" not in page["Cache-Control"]
    for known, asked in ((part, {}), (page, HTMX)):
        again = tablet.get(sheet(joiner), HTTP_IF_NONE_MATCH=known["ETag"], **asked)
        assert again.status_code == 200
    assert tablet.get(sheet(joiner), HTTP_IF_NONE_MATCH=page["ETag"]).status_code == 304
