"""The Friday sheet: drafted from the week, edited by the owner, frozen when sent."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.core.files.base import ContentFile

from builds.actions.door import Refused, Stale, check_version, note_in_journal, write
from builds.models import Build, Photo, ProgressSheet, SheetPhoto, Stage, User
from builds.queries.opening import monday_of, opening_times
from builds.queries.progress import draft_of_week

TEXTS = ("done", "next", "decide", "visit", "date_note")
LONGEST = {"done": 10000, "next": 10000, "decide": 10000, "visit": 2000, "date_note": 300}


def stage_of(build: Build, day: date) -> Stage:
    """The stage of the week that `day` is in, made when there is none. Call inside a write."""
    return Stage.objects.get_or_create(build=build, monday=monday_of(day))[0]


def set_aim(*, build: Build, monday: date, aim: str, now: datetime, by: User) -> Stage:
    """Says what a week is for, in one line."""
    if len(aim) > 200:
        raise Refused("An aim is one line of at most 200 letters.", field="aim")
    with write(plan=False):
        stage = stage_of(build, monday)
        stage.aim = aim.strip()
        stage.save(update_fields=["aim"])
    return stage


def draft_progress_sheet(*, build: Build, monday: date, now: datetime, by: User) -> ProgressSheet:
    """The sheet of that week, drafted when there is none yet; an existing one is left as it is."""
    if monday > monday_of(opening_times().day_of(now)):
        raise Refused("That week has not begun, so there is nothing to tell of it yet.")
    with write(plan=False) as shop:
        stage = stage_of(build, monday)
        known = ProgressSheet.objects.filter(stage=stage).first()
        if known:
            return known
        draft = draft_of_week(build, stage.monday, opening_times(shop))
        sheet = ProgressSheet.objects.create(
            stage=stage,
            done=draft.done,
            next=draft.next,
            decide=draft.decide,
            visit=draft.visit,
            promised_on=build.promised_on,
            drafted_at=now,
        )
        _set_photos(sheet, list(draft.photo_ids))
    return sheet


def redraft_progress_sheet(*, sheet: ProgressSheet, version: int, now: datetime, by: User) -> ProgressSheet:
    """Throws the draft's words away and drafts again from what the week is now. Not after sending."""
    with write(plan=False) as shop:
        fresh = _open_sheet(sheet, version)
        build = fresh.stage.build
        draft = draft_of_week(build, fresh.stage.monday, opening_times(shop))
        fresh.done, fresh.next, fresh.decide, fresh.visit = draft.done, draft.next, draft.decide, draft.visit
        fresh.promised_on = build.promised_on
        fresh.drafted_at, fresh.version = now, fresh.version + 1
        fresh.save()
        _set_photos(fresh, list(draft.photo_ids))
    return fresh


def edit_progress_sheet(
    *,
    sheet: ProgressSheet,
    version: int,
    texts: dict[str, str],
    date_words: str,
    photos: list[tuple[int, str]],
    now: datetime,
    by: User,
) -> ProgressSheet:
    """Keeps the owner's words and choice of photos, in order, each with its caption."""
    for name, text in texts.items():
        if name in LONGEST and len(text) > LONGEST[name]:
            raise Refused(f"This is {len(text)} letters, at most {LONGEST[name]} fit.", field=name)
    if date_words not in dict(ProgressSheet.DATE_WORDS):
        raise Refused("Choose what the sheet says about the date.", field="date_words")
    if date_words == "moved" and not texts.get("date_note", "").strip():
        raise Refused("When the date has moved, tell the new date and why in a line.", field="date_note")
    with write(plan=False):
        fresh = _open_sheet(sheet, version)
        for name in TEXTS:
            setattr(fresh, name, texts.get(name, getattr(fresh, name)).strip())
        fresh.date_words = date_words
        fresh.promised_on = fresh.stage.build.promised_on
        fresh.edited_at, fresh.version = now, fresh.version + 1
        fresh.save()
        _set_photos(fresh, [pk for pk, _ in photos], dict(photos))
    return fresh


def send_progress_sheet(
    *, sheet: ProgressSheet, version: int, paper: tuple[str, bytes], now: datetime, by: User
) -> ProgressSheet:
    """Freezes `paper`, the page and PDF made of this version; the customer's page shows it from now on."""
    page, pdf = paper
    with write(plan=False):
        fresh = _open_sheet(sheet, version)
        if not (fresh.done.strip() or fresh.photos.exists()):
            raise Refused(
                "The sheet has neither words nor photos yet. Write a line before you send it.", field="done"
            )
        fresh.sent_at, fresh.version = now, fresh.version + 1
        fresh.frozen_html = page
        name = f"{fresh.stage.build_id}-{fresh.stage.monday}.pdf"
        fresh.frozen_pdf.save(name, ContentFile(pdf), save=False)
        fresh.save()
        week = f"{fresh.stage.monday.day} {fresh.stage.monday:%b}"
        note_in_journal(
            f"Sent the progress sheet of the week of {week}", now=now, by=by, build=fresh.stage.build
        )
    return fresh


def sheet_due_on(monday: date) -> date:
    """Progress sheets go out on the Friday of their week."""
    return monday + timedelta(days=4)


def _open_sheet(sheet: ProgressSheet, version: int) -> ProgressSheet:
    fresh = (
        ProgressSheet.objects.select_related("stage__build").select_for_update(of=("self",)).get(pk=sheet.pk)
    )
    if fresh.sent_at is not None:
        raise Stale("This sheet was sent already. What was sent stays as it is.")
    check_version(fresh, version)
    return fresh


def _set_photos(sheet: ProgressSheet, photo_ids: list[int], captions: dict[int, str] | None = None) -> None:
    own = {p.pk: p for p in Photo.objects.filter(build_id=sheet.stage.build_id, pk__in=photo_ids)}
    SheetPhoto.objects.filter(sheet=sheet).delete()
    SheetPhoto.objects.bulk_create(
        SheetPhoto(
            sheet=sheet,
            photo=own[pk],
            caption=(captions or {}).get(pk, own[pk].caption).strip()[:160],
            order=order,
        )
        for order, pk in enumerate(dict.fromkeys(photo_ids))
        if pk in own
    )
