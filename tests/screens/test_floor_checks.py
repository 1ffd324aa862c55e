"""Signing a check on a tablet, and the owner's list of tablets."""

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

from builds.actions import pins
from builds.models import CheckRecord, FloorEvent, HoldPoint, Photo, Tablet, Task
from builds.queries.tablets import COOKIE, hash_of
from tests import cast
from tests.actions.test_floor_checks import FIELDS
from tests.screens.fragments import assert_same_as_fresh
from tests.screens.test_access import pair

HTMX = {"HTTP_HX_REQUEST": "true"}
GOOD = {"reading-start": "1.6", "reading-end": "1.55", "hours": "1"}
PIN = "2468"


@pytest.fixture(autouse=True)
def at_eight(now, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    with time_machine.travel(now, tick=False):
        yield


@pytest.fixture
def check(small_build):
    task = small_build.tasks.get(key="cut-parts")
    return HoldPoint.objects.create(task=task, kind="water_pressure", name="Water pressure", fields=FIELDS)


@pytest.fixture
def tablet(client, check, joiner, owner, now):
    pair(client)
    Tablet.objects.update(last_seen_at=now)
    pins.set_pin(person=joiner, pin=PIN, now=now, by=owner)
    return client


def address(joiner, check, name="hold-point") -> str:
    return reverse(f"floor:{name}", args=[joiner.pk, check.pk])


def text(response) -> str:
    return response.content.decode()


def test_the_page_shows_fields_with_units_limits_and_their_basis(tablet, joiner, check):
    page = text(tablet.get(address(joiner, check)))

    assert "1.5 bar or more" in page
    assert "of the rule" in page
    assert "PIN of Wren Alder" in page


def test_a_pass_is_signed_once_however_often_it_is_pressed(tablet, joiner, check):
    form = GOOD | {"verdict": "pass", "pin": PIN, "once": uuid.uuid4()}

    for _ in range(2):
        assert tablet.post(address(joiner, check), form).status_code == 302

    assert CheckRecord.objects.get().outcome == "passed"
    assert Task.objects.get(pk=check.task_id).state == "done"


def test_a_fail_is_signed_with_what_was_found(tablet, joiner, check):
    form = {"verdict": "fail", "pin": PIN, "note": "Drips at the tee"}

    assert tablet.post(address(joiner, check), form).status_code == 302

    assert HoldPoint.objects.get().state == "failed"
    assert "failed, waits for a recheck" in text(tablet.get(address(joiner, check)))


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"pin": ""}, "That is not the PIN"),
        ({"pin": "1357"}, "That is not the PIN"),
        ({"pin": PIN, "reading-start": ""}, "Needed."),
        ({"pin": PIN, "reading-start": "plenty"}, "This has to be a number"),
        ({"pin": PIN, "reading-start": "1.0", "reading-end": "1.0"}, "less than the 1.5 of the rule"),
        ({"pin": PIN, "hours": "-1"}, "Hours go from"),
        ({"pin": PIN, "verdict": "fail"}, "Say what was found"),
    ],
)
def test_wrong_input_signs_nothing_and_keeps_what_was_typed_but_not_the_pin(
    tablet, joiner, check, typed, words
):
    answer = tablet.post(address(joiner, check), GOOD | {"verdict": "pass"} | typed)

    page = text(answer)
    assert answer.status_code == 422
    assert words in page
    assert 'value="1.55"' in page or "reading-end" in typed
    assert PIN not in page
    assert not CheckRecord.objects.exists()


def test_the_figures_are_reckoned_before_anything_is_signed(tablet, joiner, check):
    typed = {"reading-start": "1.6", "reading-end": "1.2"}

    part = text(tablet.post(address(joiner, check, "hold-point-judge"), typed, **HTMX))
    page = text(tablet.post(address(joiner, check, "hold-point-judge"), typed))

    for answer in (part, page):
        assert "Lost: 0.4" in answer
        assert "Lost 0.4, more than the 0.1 of the rule" in answer
    assert not FloorEvent.objects.filter(verb="pass").exists()


def test_a_photo_of_the_check_stands_on_the_page_as_after_a_fresh_load(tablet, joiner, check):
    HoldPoint.objects.update(photo_wanted=True)
    before = text(tablet.get(address(joiner, check)))
    out = io.BytesIO()
    Image.new("RGB", (400, 300), "teal").save(out, "JPEG")
    out.seek(0)
    out.name = "gauge.jpg"

    answer = tablet.post(address(joiner, check, "hold-point-photo"), {"photo": out}, **HTMX)

    assert Photo.objects.get().hold_point == check
    assert_same_as_fresh(before, text(answer), text(tablet.get(address(joiner, check))), "sheet")


def test_a_file_that_is_no_photo_is_refused_beside_the_readings(tablet, joiner, check):
    assert tablet.post(address(joiner, check, "hold-point-photo"), {}, **HTMX).status_code == 422
    assert tablet.post(address(joiner, check, "hold-point-photo"), {}).status_code == 422


def test_a_check_of_a_dropped_build_or_of_removed_work_is_not_found(tablet, joiner, check, small_build, now):
    Task.objects.filter(pk=check.task_id).update(removed_at=now)
    assert tablet.get(address(joiner, check)).status_code == 404
    Task.objects.filter(pk=check.task_id).update(removed_at=None)
    type(small_build).objects.update(status="dropped")

    assert tablet.post(address(joiner, check), GOOD | {"pin": PIN}).status_code == 404


def test_the_check_page_asks_no_more_for_three_fields_and_photos_than_for_one(tablet, joiner, check, now):
    HoldPoint.objects.update(fields=FIELDS[:1])
    one = _queries(tablet, address(joiner, check))
    HoldPoint.objects.update(fields=FIELDS)
    for outcome in ("failed", "reopened", "passed"):
        CheckRecord.objects.create(hold_point=check, outcome=outcome, person=joiner, at=now)

    assert one == _queries(tablet, address(joiner, check)) <= 12


# The owner's tablets


def test_an_owner_pairs_a_tablet_with_the_code_on_the_screen(owner_client, client):
    page = owner_client.post(reverse("owner:tablet-add"), {"name": "Bench"}, follow=True)
    tablet = Tablet.objects.get()
    code = owner_client.session["pair_codes"][str(tablet.pk)]
    drawing = owner_client.get(reverse("owner:tablet-code-drawing", args=[tablet.pk]))

    assert f"{code[:4]} {code[4:]}" in text(page)
    assert (drawing["Content-Type"], drawing["Cache-Control"]) == ("image/svg+xml", "no-store")

    device = type(client)()
    assert code in text(device.get(reverse("floor:pair") + f"?code={code}"))
    paired = device.post(reverse("floor:pair"), {"code": code})

    assert paired["Location"] == reverse("floor:names")
    assert hash_of(device.cookies[COOKIE].value) == Tablet.objects.get().token_hash
    assert device.cookies[COOKIE]["httponly"]
    again = owner_client.get(reverse("owner:tablet-code", args=[tablet.pk]))
    assert "Paired" in text(again)
    assert code not in text(again)
    assert owner_client.get(reverse("owner:tablet-code-drawing", args=[tablet.pk])).status_code == 404


def test_another_owners_screen_does_not_show_the_code(owner_client, client):
    owner_client.post(reverse("owner:tablet-add"), {"name": "Bench"})
    other = type(client)()
    other.force_login(cast.make_owner("rue"))

    page = text(other.get(reverse("owner:tablet-code", args=[Tablet.objects.get().pk])))

    assert "No code to show" in page


def test_the_code_page_is_not_sent_again_while_it_waits(owner_client):
    page = owner_client.post(reverse("owner:tablet-add"), {"name": "Bench"}, follow=True)
    where = reverse("owner:tablet-code", args=[Tablet.objects.get().pk])
    part = owner_client.get(where, **HTMX)

    assert 'id="code"' in text(page)
    assert owner_client.get(where, HTTP_IF_NONE_MATCH=part["ETag"], **HTMX).status_code == 304


def test_a_wrong_code_is_told_in_place(client, shop):
    answer = client.post(reverse("floor:pair"), {"code": "WRONGCODE"})

    assert answer.status_code == 422
    assert "That code is not good" in text(answer)
    assert "WRONGCODE" in text(answer)


def test_a_withdrawn_tablet_is_shut_out_at_once(owner_client, client, joiner):
    device = type(client)()
    pair(device)
    assert device.get(reverse("floor:names")).status_code == 200

    owner_client.post(reverse("owner:tablet-withdraw", args=[Tablet.objects.get().pk]))

    assert device.get(reverse("floor:names"))["Location"] == reverse("floor:pair")
    assert device.post(reverse("floor:task-start", args=[joiner.pk, 1])).status_code == 401


def test_a_name_that_is_taken_is_told_in_place_and_kept(owner_client, client):
    pair(type(client)())

    answer = owner_client.post(reverse("owner:tablet-add"), {"name": "bench tablet"})

    assert answer.status_code == 422
    assert 'value="bench tablet"' in text(answer)


def test_the_list_of_tablets_asks_as_often_for_three_as_for_one(owner_client):
    Tablet.objects.create(name="One")
    one = _queries(owner_client, reverse("owner:tablet-list"))
    Tablet.objects.create(name="Two")
    Tablet.objects.create(name="Three")

    assert one == _queries(owner_client, reverse("owner:tablet-list")) <= 12


def _queries(client, where) -> int:
    with CaptureQueriesContext(connection) as caught:
        assert client.get(where).status_code == 200
    return len(caught)


def test_a_photo_of_a_check_that_waited_on_the_tablet_is_kept_once_and_as_it_was(tablet, joiner, check, now):
    once, at = uuid.uuid4(), now - timedelta(hours=2)

    for _ in range(2):
        out = io.BytesIO()
        Image.new("RGB", (64, 48), "teal").save(out, "JPEG")
        answer = tablet.post(
            address(joiner, check, "hold-point-photo"),
            {"photo": SimpleUploadedFile("a.jpg", out.getvalue()), "once": once, "behind": "Floor"},
            HTTP_X_QUEUE_NUMBER="1",
            HTTP_X_DONE_AT=at.isoformat(),
            HTTP_X_SENT_AT=now.isoformat(),
        )
        assert answer.json() == {"outcome": "kept", "words": "Photo kept"}

    photo = Photo.objects.get()
    assert (photo.hold_point, photo.task, photo.taken_at, photo.behind) == (check, check.task, at, "Floor")


def test_a_photo_that_waited_and_is_none_is_refused_and_the_refusal_is_kept(tablet, joiner, check, now):
    answer = tablet.post(
        address(joiner, check, "hold-point-photo"),
        {"photo": SimpleUploadedFile("a.jpg", b"no picture"), "once": uuid.uuid4()},
        HTTP_X_QUEUE_NUMBER="1",
        HTTP_X_DONE_AT=now.isoformat(),
        HTTP_X_SENT_AT=now.isoformat(),
    )

    assert answer.json()["outcome"] == "refused"
    assert FloorEvent.objects.get().task == check.task


def test_the_photos_alone_come_where_they_are_asked_for_after_sending(tablet, joiner, check):
    part = text(tablet.get(address(joiner, check), **HTMX))

    assert part.strip().startswith('<section id="sheet"')
    assert 'name="pin"' not in part
