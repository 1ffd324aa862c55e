"""The Friday sheet from the first ticks to the customer's phone."""

from __future__ import annotations

import io
import logging
from datetime import date, timedelta

import pytest
from PIL import Image
from pypdf import PdfReader

from builds.actions import links, photos, sheets
from builds.actions.door import Refused, Stale
from builds.models import Build, Decision, Note, ProgressSheet, Task
from builds.reports.progress_sheet import progress_sheet_paper
from builds.reports.render import OutsideFetch, pdf_of
from tests import cast

MONDAY = date(2027, 3, 1)


@pytest.fixture(autouse=True)
def media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


def picture() -> io.BytesIO:
    out = io.BytesIO()
    Image.new("RGB", (900, 600), "olive").save(out, "JPEG")
    out.seek(0)
    return out


def finish(task: Task, at) -> None:
    task.state, task.started_at, task.finished_at = "done", at, at
    task.save()


@pytest.fixture
def friday(now):
    return now + timedelta(days=4)


@pytest.fixture
def sheet(small_build, owner, now, friday) -> ProgressSheet:
    finish(Task.objects.get(key="cut-parts"), now + timedelta(hours=4))
    photos.keep_photo(file=picture(), build=small_build, now=now, caption="Parts cut and stacked")
    Note.objects.create(build=small_build, text="The oak came up well.", for_customer=True, at=now)
    Note.objects.create(build=small_build, text="Lost two hours on the saw.", at=now)
    Decision.objects.create(build=small_build, what="Colour of the fronts", needed_by=date(2027, 3, 12))
    return sheets.draft_progress_sheet(build=small_build, monday=MONDAY, now=friday, by=owner)


def test_van_wide_work_reads_by_its_part_of_the_job_and_a_long_week_is_cut_short(
    small_build, owner, now, friday
):
    for n in range(7):
        finish(cast.make_task(small_build, f"hole-{n}", name=f"Cut hole {n}", phase="Openings"), now)
    finish(cast.make_task(small_build, "wash", name="Wash, rinse and dry", phase="Prepare"), now)
    finish(cast.make_task(small_build, "cover", name="Cover the seats", phase="Prepare"), now)

    drafted = sheets.draft_progress_sheet(build=small_build, monday=MONDAY, now=friday, by=owner).done

    assert drafted.splitlines() == [
        "Openings: cut hole 0, cut hole 1, cut hole 2, cut hole 3 and 3 more",
        "Prepare: wash, rinse and dry; cover the seats",
    ]


def send(sheet: ProgressSheet, owner, at) -> ProgressSheet:
    return sheets.send_progress_sheet(
        sheet=sheet,
        version=sheet.version,
        paper=progress_sheet_paper(sheet, sent_at=at),
        now=at,
        by=owner,
    )


def test_a_draft_tells_what_was_done_and_what_to_decide(sheet):
    assert sheet.done.splitlines() == ["Whole van: cut parts", "The oak came up well."]
    assert sheet.decide == "Colour of the fronts: please by Fri 12 Mar"
    assert sheet.photos.count() == 1


def test_a_draft_never_tells_of_hours_or_of_notes_kept_inside(sheet):
    page, _ = progress_sheet_paper(sheet)

    assert "Lost two hours" not in page
    assert "forecast" not in page.lower()


def test_drafting_again_gives_the_same_sheet(sheet, small_build, owner, friday):
    again = sheets.draft_progress_sheet(build=small_build, monday=MONDAY, now=friday, by=owner)

    assert again.pk == sheet.pk


def test_a_week_that_has_not_begun_has_no_sheet(small_build, owner, monkeypatch, now):
    with pytest.raises(Refused, match="not begun"):
        sheets.draft_progress_sheet(build=small_build, monday=date(2027, 4, 5), now=now, by=owner)


def test_the_paper_is_tagged_titled_and_rendered_without_a_warning(sheet, caplog):
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        _, pdf = progress_sheet_paper(sheet)

    reader = PdfReader(io.BytesIO(pdf))
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert reader.metadata.title == "Progress sheet: Heron, week to Friday 5 March 2027"
    assert "Parts cut and stacked" in reader.pages[0].extract_text()
    assert [r.getMessage() for r in caplog.records] == []


def test_what_was_sent_stays_as_it_was(sheet, owner, friday):
    sent = send(sheet, owner, friday)
    Build.objects.update(promised_on=date(2027, 12, 1), name="Another name")

    sent.refresh_from_db()
    assert "14 May 2027" in sent.frozen_html
    assert "Another name" not in sent.frozen_html
    with pytest.raises(Stale, match="sent already"):
        send(sent, owner, friday)


def test_a_sheet_changed_by_somebody_else_is_not_overwritten(sheet, owner, friday):
    edit = {"date_words": "holds", "photos": [], "now": friday, "by": owner}
    sheets.edit_progress_sheet(sheet=sheet, version=1, texts={"done": "Mine"}, **edit)

    with pytest.raises(Stale):
        sheets.edit_progress_sheet(sheet=sheet, version=1, texts={"done": "Theirs"}, **edit)

    sheet.refresh_from_db()
    assert sheet.done == "Mine"


def test_a_moved_date_needs_a_line_about_it(sheet, owner, friday):
    with pytest.raises(Refused, match="new date and why") as refused:
        sheets.edit_progress_sheet(
            sheet=sheet, version=1, texts={}, date_words="moved", photos=[], now=friday, by=owner
        )

    assert refused.value.field == "date_note"


def test_an_empty_sheet_is_not_sent(small_build, owner, friday):
    sheet = sheets.draft_progress_sheet(build=small_build, monday=MONDAY, now=friday, by=owner)

    with pytest.raises(Refused, match="neither words nor photos"):
        send(sheet, owner, friday)


def test_a_photo_of_another_build_does_not_get_on_the_sheet(sheet, owner, friday):
    other = photos.keep_photo(file=picture(), build=cast.make_build("Plover"), now=friday)

    sheets.edit_progress_sheet(
        sheet=sheet, version=1, texts={}, date_words="holds", photos=[(other.pk, "")], now=friday, by=owner
    )

    assert sheet.photos.count() == 0


def test_markup_in_words_stays_words(sheet, owner, friday):
    sheets.edit_progress_sheet(
        sheet=sheet,
        version=1,
        texts={"done": "<img src=http://elsewhere.example/x.png><script>alert(1)</script>"},
        date_words="holds",
        photos=[],
        now=friday,
        by=owner,
    )
    sheet.refresh_from_db()

    page, _ = progress_sheet_paper(sheet)

    assert "<script>" not in page
    assert "&lt;img src=" in page


@pytest.mark.parametrize(
    "url",
    ["http://elsewhere.example/x.png", "file:///etc/passwd", "media:../../settings.py", "media:/etc/passwd"],
)
def test_a_paper_fetches_nothing_but_our_own_files(url):
    with pytest.raises(OutsideFetch):
        pdf_of(f'<html lang="en"><title>x</title><img alt="x" src="{url}"></html>')


def test_the_customer_sees_sent_sheets_only(client, sheet, small_build, owner, friday):
    _, token = links.make_customer_link(build=small_build, now=friday, by=owner)
    before = client.get(f"/your-van/{token}/").content.decode()

    send(sheet, owner, friday)

    after = client.get(f"/your-van/{token}/")
    assert "Parts cut and stacked" not in before
    assert "Parts cut and stacked" in after.content.decode()
    assert after["Referrer-Policy"] == "no-referrer"
    assert after["Cache-Control"] == "no-store"


def test_only_photos_on_sent_sheets_are_seen_from_outside(client, sheet, small_build, owner, friday):
    _, token = links.make_customer_link(build=small_build, now=friday, by=owner)
    (row,) = sheet.photos.all()
    url = f"/your-van/{token}/photo/{row.photo.uuid}/small/"
    assert client.get(url).status_code == 404

    send(sheet, owner, friday)

    assert client.get(url)["Content-Type"] == "image/jpeg"


def test_a_withdrawn_link_shows_nothing_more(client, sheet, small_build, owner, friday):
    send(sheet, owner, friday)
    link, token = links.make_customer_link(build=small_build, now=friday, by=owner)
    assert client.get(f"/your-van/{token}/").status_code == 200

    links.withdraw_customer_link(link=link, now=friday, by=owner)

    for path in ("", f"sheet/{sheet.pk}.pdf"):
        assert client.get(f"/your-van/{token}/{path}").status_code == 404


def test_a_link_shows_its_own_build_only(client, sheet, owner, friday):
    send(sheet, owner, friday)
    _, token = links.make_customer_link(build=cast.make_build("Plover"), now=friday, by=owner)

    assert "Heron" not in client.get(f"/your-van/{token}/").content.decode()
    assert client.get(f"/your-van/{token}/sheet/{sheet.pk}.pdf").status_code == 404


def test_the_sent_paper_can_be_read_from_outside(client, sheet, small_build, owner, friday):
    send(sheet, owner, friday)
    _, token = links.make_customer_link(build=small_build, now=friday, by=owner)

    answer = client.get(f"/your-van/{token}/sheet/{sheet.pk}.pdf")

    assert b"".join(answer.streaming_content).startswith(b"%PDF")
