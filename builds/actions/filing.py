"""Serial numbers, photos of plates and PDFs, filed against what they belong to."""

from __future__ import annotations

from datetime import datetime
from typing import BinaryIO

from django.conf import settings
from django.core.files.base import ContentFile

from builds.actions.door import Gone, Refused, note_in_journal, write
from builds.actions.floor_events import Answer, By, answered_before, record, when, words_from
from builds.actions.photos import prepare
from builds.models import Build, FiledPaper, HoldPoint, Installation, Task, User

PDF_BEGINS, PDF_ENDS = b"%PDF-", b"%%EOF"
"""A PDF begins with the one and ends with the other (ISO 32000-2, 7.5.2 and 7.5.5, from memory)."""
LOOKED_AT_FOR_THE_END = 2048


def file_paper(
    *,
    build: Build,
    by: By,
    now: datetime,
    file: BinaryIO | None = None,
    title: str = "",
    serial_number: str = "",
    installation: Installation | None = None,
    hold_point: HoldPoint | None = None,
    task: Task | None = None,
) -> Answer:
    """Files a paper of an installation or a check: a PDF or a photo, a serial number, or both.

    `task` is the work during which it was filed.

    What it is is told by its content, whatever its name says. A photo is kept without metadata, a PDF as
    it came. Refuses nothing at all, anything else, and what is too large, in words.
    """
    if known := answered_before(by):
        return known
    serial = serial_number.replace("\x00", "").strip()
    if len(serial) > 80:
        raise Refused("A serial number has at most 80 letters.", field="serial_number")
    content, is_pdf = _content(file) if file is not None else (b"", False)
    if not serial and not content:
        raise Refused("Type the serial number, or take or choose a paper first.", field="serial_number")
    title = title.replace("\x00", "").strip() or ("Paper" if content else "Serial number")
    title = words_from(title, field="title", most=120, needed="")
    with write(plan=False):
        if known := answered_before(by):
            return known
        _refuse_strange(build, installation, hold_point)
        paper = FiledPaper(
            build=build,
            installation=installation,
            hold_point=hold_point,
            title=title,
            serial_number=serial,
            is_pdf=is_pdf,
            person=by.person,
            user=by.user,
            at=when(by, now),
        )
        if content:
            paper.file.save("paper", ContentFile(content), save=False)
        paper.save()
        what = ", ".join(filter(None, [title, serial]))
        return record(
            "paper",
            "Filed",
            by=by,
            now=now,
            task=task,
            build=build,
            payload={"paper": paper.pk, "text": what},
        )


def withdraw_paper(*, paper: FiledPaper, user: User, now: datetime) -> FiledPaper:
    """Takes a paper off the list that was filed by mistake; it stays on record."""
    with write(plan=False):
        fresh = FiledPaper.objects.select_for_update().filter(pk=paper.pk).first()
        if fresh is None:
            raise Gone("That paper is not there any more.")
        if fresh.withdrawn_at is None:
            fresh.withdrawn_at = now
            fresh.save(update_fields=["withdrawn_at"])
            note_in_journal(f"Withdrew the paper “{fresh.title}”", now=now, by=user, build=fresh.build)
        return fresh


def _content(file: BinaryIO) -> tuple[bytes, bool]:
    """The bytes to keep, and whether they are a PDF; a picture is made anew, without metadata."""
    size = getattr(file, "size", None)
    if size is not None and size > settings.PAPER_MAX_BYTES:
        most = settings.PAPER_MAX_BYTES // (1024 * 1024)
        raise Refused(f"This file is larger than {most} MB. Scan it again at a smaller size.", field="paper")
    start = file.read(len(PDF_BEGINS))
    file.seek(0)
    if start != PDF_BEGINS:
        try:
            return prepare(file)[0], False
        except Refused as error:
            words = error.words.replace("as a photo. Send a JPEG", "as a paper. Send a PDF or a JPEG")
            raise Refused(words, field="paper") from None
    content = file.read()
    if PDF_ENDS not in content[-LOOKED_AT_FOR_THE_END:]:
        raise Refused("This PDF is cut off or damaged. Save it again and send it anew.", field="paper")
    return content, True


def _refuse_strange(build: Build, installation: Installation | None, hold_point: HoldPoint | None) -> None:
    if installation is not None and installation.build_id != build.pk:
        raise Gone("That installation is not in this build.")
    if hold_point is not None and hold_point.task.build_id != build.pk:
        raise Gone("That check is not in this build.")
