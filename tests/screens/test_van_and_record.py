"""A van on the tablet, and its record for the owner: snags, photos by place, serial numbers, papers."""

from __future__ import annotations

import io
import uuid
from datetime import timedelta

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from builds.actions.filing import file_paper
from builds.actions.floor import By
from builds.actions.links import make_customer_link
from builds.actions.photos import keep_photo
from builds.models import FiledPaper, FloorEvent, HoldPoint, Installation, Photo, PlanRow, Snag, Tablet
from builds.queries.evidence import photos_by_place
from tests import cast
from tests.actions.test_filing import PDF
from tests.actions.test_photos import picture
from tests.screens.fragments import assert_same_as_fresh
from tests.screens.test_access import pair

HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture(autouse=True)
def at_eight(now, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    with time_machine.travel(now, tick=False):
        yield


@pytest.fixture
def heater(small_build) -> Installation:
    return Installation.objects.create(build=small_build, kind="heating", name="Heater")


@pytest.fixture
def tablet(client, small_build, heater, now):
    pair(client)
    Tablet.objects.update(last_seen_at=now)
    return client


@pytest.fixture
def van(joiner, small_build) -> str:
    return reverse("floor:van", args=[joiner.pk, small_build.pk])


def text(response) -> str:
    return response.content.decode()


def test_the_job_sheet_leads_to_every_van_in_one_tap(tablet, joiner, van):
    assert van in text(tablet.get(reverse("floor:job-sheet", args=[joiner.pk])))


def test_photos_stand_by_their_place_in_the_usual_order(small_build, joiner, now):
    for n, place in enumerate(["", "behind the kitchen", "left wall,  REAR", "Floor", "Left wall, rear"]):
        keep_photo(
            file=picture(64, 48),
            build=small_build,
            behind=place,
            person=joiner,
            now=now + timedelta(minutes=n),
        )

    found = [(place.name, len(place.photos)) for place in photos_by_place(small_build)]

    assert found == [("Floor", 1), ("Left wall, rear", 2), ("behind the kitchen", 1), ("No place given", 1)]


def test_a_photo_of_the_van_is_kept_with_its_place(tablet, joiner, small_build, van):
    form = {"photo": SimpleUploadedFile("a.jpg", picture(64, 48).getvalue()), "behind": "Roof, front"}

    answer = tablet.post(van + "photo/", form | {"once": uuid.uuid4()}, **HTMX)

    assert answer.status_code == 200
    assert (Photo.objects.get().behind, Photo.objects.get().person) == ("Roof, front", joiner)
    assert "Roof, front, 1 photo" in text(answer)
    assert "No place given" not in text(answer)


def test_a_typed_place_goes_before_a_chosen_one(tablet, joiner, van):
    photo = SimpleUploadedFile("a.jpg", picture(64, 48).getvalue())

    tablet.post(van + "photo/", {"photo": photo, "behind": "Cab", "behind_typed": "over the cab"})

    assert Photo.objects.get().behind == "over the cab"


def test_a_snag_is_put_right_in_one_tap(tablet, joiner, small_build, van, now):
    snag = Snag.objects.create(build=small_build, text="Catch does not hold", at=now)
    address = reverse("floor:snag-put-right", args=[joiner.pk, small_build.pk, snag.pk])

    before = text(tablet.get(van))

    answer = tablet.post(address, {"once": uuid.uuid4()}, **HTMX)

    assert "Catch does not hold" not in text(answer)
    assert (Snag.objects.get().put_right_by, Snag.objects.get().put_right_at) == (joiner, now)
    assert_same_as_fresh(before, text(answer), text(tablet.get(van)), "sheet")


def test_a_snag_put_right_offline_is_credited_to_who_and_when(tablet, joiner, small_build, van, now):
    snag = Snag.objects.create(build=small_build, text="Catch does not hold", at=now - timedelta(days=1))
    address = reverse("floor:snag-put-right", args=[joiner.pk, small_build.pk, snag.pk])

    answer = tablet.post(
        address,
        {"once": uuid.uuid4()},
        HTTP_X_QUEUE_NUMBER="1",
        HTTP_X_DONE_AT=(now - timedelta(hours=3)).isoformat(),
        HTTP_X_SENT_AT=now.isoformat(),
    )

    assert answer.json() == {"outcome": "kept", "words": "Put right"}
    assert Snag.objects.get().put_right_at == now - timedelta(hours=3)


def test_a_snag_of_a_failed_check_offline_is_refused_and_the_refusal_is_kept(
    tablet, joiner, small_build, now
):
    task = small_build.tasks.get(key="cut-parts")
    check = HoldPoint.objects.create(task=task, kind="own", name="Square", state="failed")
    snag = Snag.objects.create(build=small_build, task=task, text="Out of square", at=now, hold_point=check)

    answer = tablet.post(
        reverse("floor:snag-put-right", args=[joiner.pk, small_build.pk, snag.pk]),
        {"once": uuid.uuid4()},
        HTTP_X_QUEUE_NUMBER="1",
        HTTP_X_DONE_AT=now.isoformat(),
        HTTP_X_SENT_AT=now.isoformat(),
    )

    assert answer.json()["outcome"] == "refused"
    event = FloorEvent.objects.get()
    assert (event.verb, event.build, event.task) == ("put right", small_build, task)


def test_a_snag_of_the_van_as_a_whole_needs_words(tablet, joiner, van):
    answer = tablet.post(van + "snag/", {"text": " "}, **HTMX)
    assert (answer.status_code, "Say what is to be put right" in text(answer)) == (422, True)

    tablet.post(van + "snag/", {"text": "Draught at the rear door"})
    assert Snag.objects.get().text == "Draught at the rear door"


def test_a_serial_number_and_a_paper_are_filed_on_the_tablet(tablet, joiner, small_build, heater, van):
    address = reverse("floor:paper-file", args=[joiner.pk, small_build.pk, heater.pk])
    form = {"serial_number": "H-4471", "paper": SimpleUploadedFile("x.bin", PDF), "title": "Instructions"}

    answer = tablet.post(address, form | {"once": uuid.uuid4()}, **HTMX)

    paper = FiledPaper.objects.get()
    assert (paper.installation, paper.is_pdf, paper.person) == (heater, True, joiner)
    assert "H-4471" in text(answer)
    served = tablet.get(reverse("floor:paper", args=[paper.uuid]))
    assert b"".join(served.streaming_content) == PDF
    assert served["Content-Type"] == "application/pdf"
    assert served["X-Content-Type-Options"] == "nosniff"
    assert served["Content-Disposition"] == f'attachment; filename="{paper.uuid}.pdf"'
    assert "sandbox" in served["Content-Security-Policy"]


def test_a_photo_that_came_in_is_a_document_without_rights(tablet, owner, small_build, joiner, now):
    photo = keep_photo(file=picture(64, 48), build=small_build, person=joiner, now=now)
    tablet.force_login(owner)

    for audience in ("floor", "owner"):
        served = tablet.get(reverse(f"{audience}:photo", args=[photo.uuid, "large"]))
        assert served["Content-Security-Policy"].split("; ")[0::2] == ["default-src 'none'", "sandbox"]
        assert served["X-Content-Type-Options"] == "nosniff"
        assert served["Content-Type"] == "image/jpeg"


def test_papers_are_for_paired_tablets_and_the_owner_only(tablet, joiner, small_build, heater, now):
    file_paper(build=small_build, installation=heater, file=io.BytesIO(PDF), by=By(person=joiner), now=now)
    uuid_of_it = FiledPaper.objects.get().uuid
    on_floor, of_owner = (reverse(f"{who}:paper", args=[uuid_of_it]) for who in ("floor", "owner"))
    _, token = make_customer_link(build=small_build, now=now, by=cast.make_owner())

    assert tablet.get(on_floor).status_code == 200
    assert tablet.get(of_owner)["Location"].startswith(reverse("sign-in"))
    Tablet.objects.update(withdrawn_at=now)
    assert tablet.get(on_floor).status_code == 302
    assert Client().get(on_floor).status_code == 302
    assert str(uuid_of_it) not in text(Client().get(reverse("customer:page", args=[token])))


def test_a_paper_of_a_van_no_longer_in_work_is_not_served_to_a_tablet(
    tablet, joiner, small_build, heater, now
):
    file_paper(build=small_build, installation=heater, file=io.BytesIO(PDF), by=By(person=joiner), now=now)
    type(small_build).objects.update(status="handed over")

    assert tablet.get(reverse("floor:paper", args=[FiledPaper.objects.get().uuid])).status_code == 404


def test_a_serial_number_is_filed_from_the_job_sheet(tablet, joiner, small_build, heater, now):
    task = small_build.tasks.get(key="cut-parts")
    type(task).objects.filter(pk=task.pk).update(installation=heater, state="under way", started_at=now)
    PlanRow.objects.create(task=task, start=now, finish=now + timedelta(hours=1), fitters=[joiner.pk])
    address, once = reverse("floor:task-paper", args=[joiner.pk, task.pk]), uuid.uuid4()
    before = text(tablet.get(reverse("floor:job-sheet", args=[joiner.pk])))
    assert address in before

    for _ in range(2):
        answer = tablet.post(address, {"serial_number": "H-4471", "once": once}, **HTMX)

    paper = FiledPaper.objects.get()
    assert (paper.installation, paper.serial_number) == (heater, "H-4471")
    fresh = text(tablet.get(reverse("floor:job-sheet", args=[joiner.pk])))
    assert_same_as_fresh(before, text(answer), fresh, "sheet")
    refused = tablet.post(
        address, {"paper": SimpleUploadedFile("x.pdf", b"<html>"), "serial_number": "7"}, **HTMX
    )
    assert (refused.status_code, 'value="7"' in text(refused)) == (422, True)


@pytest.mark.parametrize(("kind", "asks"), [("heating", True), ("lining", False), ("own_kind", True)])
def test_a_serial_number_is_asked_for_where_there_is_a_plate(tablet, joiner, small_build, now, kind, asks):
    owner = Installation.objects.create(build=small_build, kind=kind, name="Of this kind")
    task = small_build.tasks.get(key="cut-parts")
    type(task).objects.filter(pk=task.pk).update(installation=owner, state="under way", started_at=now)
    PlanRow.objects.create(task=task, start=now, finish=now + timedelta(hours=1), fitters=[joiner.pk])

    page = text(tablet.get(reverse("floor:job-sheet", args=[joiner.pk])))

    assert ("Serial number" in page) is asks


def test_work_that_fits_nothing_takes_no_serial_number(tablet, joiner, small_build, heater):
    task = small_build.tasks.get(key="cut-parts")
    address = reverse("floor:task-paper", args=[joiner.pk, task.pk])

    answer = tablet.post(address, {"serial_number": "H-4471"}, **HTMX)

    assert (answer.status_code, FiledPaper.objects.count()) == (422, 0)
    assert "fits nothing" in text(answer)


def test_what_is_no_paper_is_refused_in_place_with_the_typing_kept(tablet, joiner, small_build, heater):
    address = reverse("floor:paper-file", args=[joiner.pk, small_build.pk, heater.pk])
    form = {"serial_number": "H-4471", "paper": SimpleUploadedFile("x.pdf", b"<script>")}

    answer = tablet.post(address, form, **HTMX)

    assert answer.status_code == 422
    assert "can&#x27;t be read as a paper" in text(answer) or "can’t be read as a paper" in text(answer)
    assert 'value="H-4471"' in text(answer)


def test_papers_and_snags_of_another_van_are_not_found(tablet, joiner, small_build, heater, now):
    other = cast.make_build("Kestrel")
    snag = Snag.objects.create(build=small_build, text="Rattle", at=now)

    for name, number in (("paper-file", heater.pk), ("snag-put-right", snag.pk)):
        assert tablet.post(reverse(f"floor:{name}", args=[joiner.pk, other.pk, number])).status_code == 404


def test_a_withdrawn_paper_is_gone_from_the_tablet_and_stays_with_the_owner(
    tablet, owner, small_build, heater, joiner
):
    paper = FiledPaper.objects.create(
        build=small_build, installation=heater, title="Plate", at=cast.NOW, file="papers/none.jpg"
    )
    tablet.force_login(owner)
    record = reverse("owner:build-record", args=[small_build.pk])
    file = reverse("owner:paper", args=[paper.uuid])
    assert file in text(tablet.get(record))

    tablet.post(reverse("owner:paper-withdraw", args=[small_build.pk, paper.pk]))

    assert file not in text(tablet.get(record))
    assert tablet.get(reverse("floor:paper", args=[paper.uuid])).status_code == 404
    assert FiledPaper.objects.count() == 1


def test_the_owner_files_a_paper_once_however_often_it_is_sent(owner_client, small_build, heater):
    address = reverse("owner:paper-file", args=[small_build.pk])
    once = uuid.uuid4()

    for _ in range(2):
        form = {"of": heater.pk, "title": "Test papers", "once": once}
        owner_client.post(address, form | {"paper": SimpleUploadedFile("a.pdf", PDF)})

    paper = FiledPaper.objects.get()
    assert "Test papers (PDF)" in text(owner_client.get(reverse("owner:build-record", args=[small_build.pk])))
    assert owner_client.get(reverse("owner:paper", args=[paper.uuid]))["Content-Type"] == "application/pdf"


@pytest.mark.parametrize("of", ["987654", "x", "²"])
def test_a_strange_installation_is_not_found(owner_client, small_build, of):
    answer = owner_client.post(
        reverse("owner:paper-file", args=[small_build.pk]), {"of": of, "serial_number": "1"}
    )

    assert answer.status_code == 404


def test_the_owner_is_told_in_place_what_is_no_paper(owner_client, small_build):
    answer = owner_client.post(
        reverse("owner:paper-file", args=[small_build.pk]), {"title": "Plate", "serial_number": ""}
    )

    assert (answer.status_code, 'value="Plate"' in text(answer)) == (422, True)


@pytest.mark.parametrize("where", ["tablet", "owner"])
def test_both_pages_ask_as_often_for_three_as_for_one(tablet, owner, small_build, joiner, heater, van, where):
    def add():
        n = Snag.objects.count()
        Snag.objects.create(build=small_build, text=f"Snag {n}", at=cast.NOW, person=joiner)
        keep_photo(file=picture(64, 48), build=small_build, behind=f"place {n}", person=joiner, now=cast.NOW)
        kind = Installation.objects.create(build=small_build, kind=f"kind{n}", name=f"Thing {n}")
        FiledPaper.objects.create(build=small_build, installation=kind, title="Plate", at=cast.NOW)

    def count() -> int:
        with CaptureQueriesContext(connection) as asked:
            tablet.get(van if where == "tablet" else reverse("owner:build-record", args=[small_build.pk]))
        return len(asked)

    tablet.force_login(owner)
    add()
    one = count()
    add()
    add()

    assert count() == one
    assert one <= 12


def test_the_owner_says_where_a_photo_was_taken(owner_client, small_build, joiner, now):
    photo = keep_photo(file=picture(64, 48), build=small_build, person=joiner, now=now)
    record = reverse("owner:build-record", args=[small_build.pk])
    address = reverse("owner:photo-place", args=[small_build.pk, photo.uuid])
    assert address in text(owner_client.get(record))

    assert "Say where in the van" in text(owner_client.post(address, {"behind": " "}, follow=True))
    owner_client.post(address, {"behind": "Left wall, rear"})

    assert [place.name for place in photos_by_place(small_build)] == ["Left wall, rear"]
    assert address not in text(owner_client.get(record))


def test_a_photo_of_another_build_is_not_placed(owner_client, small_build, joiner, now):
    photo = keep_photo(file=picture(64, 48), build=cast.make_build("Kestrel"), now=now)

    answer = owner_client.post(
        reverse("owner:photo-place", args=[small_build.pk, photo.uuid]), {"behind": "Cab"}
    )

    assert (answer.status_code, Photo.objects.get().behind) == (404, "")
