"""Notes, photos and snags from the floor: what proves the work, and what has to be put right."""

from __future__ import annotations

from datetime import datetime
from typing import BinaryIO

from builds.actions.door import Gone, Refused, write
from builds.actions.floor_events import Answer, By, answered_before, record, when, words_from
from builds.actions.photos import keep_photo
from builds.models import Build, HoldPoint, Note, Snag, Task, Unit


def add_note(
    *, build: Build, text: str, by: By, now: datetime, task: Task | None = None, for_customer: bool = False
) -> Answer:
    """Keeps a few words, on a task or on the build as a whole."""
    with write(plan=False):
        if known := answered_before(by):
            return known
        text = words_from(text, field="text", most=10000, needed="Write a few words first.")
        note = Note.objects.create(
            build=build,
            task=task,
            text=text,
            for_customer=for_customer,
            person=by.person,
            user=by.user,
            at=when(by, now),
        )
        payload = {"note": note.pk, "text": text}
        return record("note", "Note kept", by=by, now=now, task=task, build=build, payload=payload)


def add_photo(
    *,
    file: BinaryIO,
    build: Build,
    by: By,
    now: datetime,
    task: Task | None = None,
    unit: Unit | None = None,
    hold_point: HoldPoint | None = None,
    caption: str = "",
    behind: str = "",
) -> Answer:
    """Keeps a photo of a task, a unit or a check; refuses what is no picture, in words."""
    if known := answered_before(by):
        return known
    with write(plan=False):
        if known := answered_before(by):
            return known
        photo = keep_photo(
            file=file,
            build=build,
            task=task,
            unit=unit,
            hold_point=hold_point,
            person=by.person,
            caption=caption.replace("\x00", ""),
            behind=behind.replace("\x00", ""),
            now=when(by, now),
            uuid=by.uuid,
        )
        payload = {"photo": photo.pk}
        return record("photo", "Photo kept", by=by, now=now, task=task, build=build, payload=payload)


def add_snag(
    *,
    build: Build,
    text: str,
    by: By,
    now: datetime,
    task: Task | None = None,
    hold_point: HoldPoint | None = None,
) -> Answer:
    """Puts something to put right on the build's snag list."""
    with write(plan=False):
        if known := answered_before(by):
            return known
        text = words_from(text, field="text", most=400, needed="Say what is to be put right.")
        snag = Snag.objects.create(
            build=build, task=task, hold_point=hold_point, text=text, person=by.person, at=when(by, now)
        )
        payload = {"snag": snag.pk, "text": text}
        return record("snag", "On the snag list", by=by, now=now, task=task, build=build, payload=payload)


def put_right(*, snag: Snag, by: By, now: datetime) -> Answer:
    """Strikes a snag off the list; a snag of a failed check goes when the check passes."""
    with write(plan=False):
        if known := answered_before(by):
            return known
        fresh = Snag.objects.select_related("build", "task", "hold_point").filter(pk=snag.pk).first()
        if fresh is None:
            raise Gone("That snag is not on the list any more.")
        if fresh.hold_point is not None and fresh.hold_point.state == "failed":
            raise Refused(f"This goes when “{fresh.hold_point.name}” passes its recheck.")
        words = "Put right"
        if fresh.put_right_at is None:
            fresh.put_right_at, fresh.put_right_by = when(by, now), by.person
            fresh.save(update_fields=["put_right_at", "put_right_by"])
        else:
            words = "It was put right before"
        payload = {"snag": fresh.pk, "text": fresh.text}
        return record("put right", words, by=by, now=now, task=fresh.task, build=fresh.build, payload=payload)
