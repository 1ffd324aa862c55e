"""Serial numbers and papers: told by their content, kept without what they should not carry, filed once."""

from __future__ import annotations

import io
import uuid
from types import SimpleNamespace

import pytest
from PIL import Image

from builds.actions import filing
from builds.actions.door import Gone, Refused
from builds.actions.floor import By
from builds.models import FiledPaper, FloorEvent, Installation
from tests import cast
from tests.actions.test_photos import picture

PDF = b"%PDF-1.7\n1 0 obj <<>> endobj\ntrailer <<>>\n%%EOF\n"


@pytest.fixture(autouse=True)
def media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def heater(small_build) -> Installation:
    return Installation.objects.create(build=small_build, kind="heating", name="Heater")


def put(build, joiner, now, **more):
    return filing.file_paper(build=build, by=By(person=joiner), now=now, **more)


def test_a_serial_number_is_filed_against_its_installation(small_build, heater, joiner, now):
    put(small_build, joiner, now, installation=heater, serial_number=" H-20 4471 ")

    paper = FiledPaper.objects.get()
    assert (paper.installation, paper.serial_number, paper.title) == (heater, "H-20 4471", "Serial number")
    assert (paper.person, paper.at, bool(paper.file)) == (joiner, now, False)


def test_a_pdf_is_kept_as_it_came_whatever_its_name(small_build, heater, joiner, now):
    put(small_build, joiner, now, installation=heater, file=io.BytesIO(PDF), title="Test papers")

    paper = FiledPaper.objects.get()
    assert (paper.is_pdf, paper.file.read(), paper.file.name[-4:]) == (True, PDF, ".pdf")


def test_a_photo_of_a_plate_is_made_anew_without_its_position(small_build, heater, joiner, now):
    exif = Image.Exif()
    exif.get_ifd(0x8825)[1] = "N"

    put(small_build, joiner, now, installation=heater, file=picture(800, 600, exif=exif))

    kept = Image.open(FiledPaper.objects.get().file)
    assert (kept.format, dict(kept.getexif())) == ("JPEG", {})


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "Send a PDF or a JPEG"),
        (b"<!doctype html><script>alert(1)</script>" + PDF, "Send a PDF or a JPEG"),
        (b"\n" + PDF, "Send a PDF or a JPEG"),
        (b"%pdf-1.7" + PDF[8:], "Send a PDF or a JPEG"),
        (b"MZ\x90\x00", "Send a PDF or a JPEG"),
        (b"", "Send a PDF or a JPEG"),
        (PDF[:20], "cut off or damaged"),
    ],
)
def test_anything_else_is_refused_in_words(small_build, heater, joiner, now, content, words):
    with pytest.raises(Refused, match=words):
        put(small_build, joiner, now, installation=heater, file=io.BytesIO(content))

    assert not FiledPaper.objects.exists()


def test_a_paper_that_is_too_large_is_refused_before_it_is_read(small_build, joiner, now, settings):
    with pytest.raises(Refused, match="larger than 15 MB"):
        put(small_build, joiner, now, file=SimpleNamespace(size=settings.PAPER_MAX_BYTES + 1))


@pytest.mark.parametrize("typed", ["", "  ", "\x00"])
def test_nothing_at_all_is_refused(small_build, joiner, now, typed):
    with pytest.raises(Refused, match="Type the serial number"):
        put(small_build, joiner, now, serial_number=typed)


def test_an_overlong_serial_number_is_refused(small_build, joiner, now):
    with pytest.raises(Refused, match="at most 80"):
        put(small_build, joiner, now, serial_number="9" * 81)


def test_an_installation_of_another_build_takes_no_paper(small_build, heater, joiner, now):
    with pytest.raises(Gone):
        put(cast.make_build("Kestrel"), joiner, now, installation=heater, serial_number="1")


def test_the_same_form_sent_twice_files_one_paper(small_build, heater, joiner, now):
    by = By(person=joiner, uuid=uuid.uuid4())

    for _ in range(2):
        filing.file_paper(build=small_build, installation=heater, serial_number="1", by=by, now=now)

    assert FiledPaper.objects.count() == FloorEvent.objects.count() == 1


def test_a_withdrawn_paper_stays_on_record(small_build, owner, joiner, now):
    put(small_build, joiner, now, serial_number="1")

    for _ in range(2):
        filing.withdraw_paper(paper=FiledPaper.objects.get(), user=owner, now=now)

    assert FiledPaper.objects.get().withdrawn_at == now
