"""The customer's Friday page as a paper."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from builds.models import ProgressSheet, Shop
from builds.queries.opening import opening_times
from builds.reports.render import render


@dataclass(frozen=True)
class PaperPhoto:
    """A photo on a paper: where its file is kept, its size in pixels and its words."""

    source: str
    uuid: str
    caption: str
    width_px: int
    height_px: int

    @property
    def alternative(self) -> str:
        return self.caption or "Photo of the work on your van"


@dataclass(frozen=True)
class ProgressSheetPaper:
    """All that the progress sheet shows; nothing in it tells of hours, cost or the live forecast."""

    title: str
    shop_name: str
    van: str
    customer: str
    week_words: str
    aim: str
    photos: tuple[PaperPhoto, ...]
    done: tuple[str, ...]
    next: tuple[str, ...]
    decide: tuple[str, ...]
    visit: tuple[str, ...]
    promised_words: str
    date_words: str
    date_note: str
    sent_words: str


def day_words(day: date | None) -> str:
    return f"{day:%A} {day.day} {day:%B %Y}" if day else ""


def progress_sheet_paper(sheet: ProgressSheet, *, sent_at: datetime | None = None) -> tuple[str, bytes]:
    """The sheet's HTML and PDF as they are now; with `sent_at`, as they are sent."""
    return render("reports/progress_sheet.html", prepared(sheet, sent_at=sent_at))


def prepared(sheet: ProgressSheet, *, sent_at: datetime | None = None) -> ProgressSheetPaper:
    build, shop = sheet.stage.build, Shop.objects.get(pk=1)
    times = opening_times(shop)
    monday = sheet.stage.monday
    number = times.week_number(build.arrives_on, monday) if build.arrives_on else 0
    friday = monday + timedelta(days=4)
    week = f"Week {number} in our workshop, " if number > 0 else "The week "
    return ProgressSheetPaper(
        title=f"Progress sheet: {build.name}, week to {day_words(friday)}",
        shop_name=shop.name,
        van=build.name,
        customer=build.customer.name,
        week_words=f"{week}to {day_words(friday)}",
        aim=sheet.stage.aim,
        photos=_photos(sheet),
        done=lines(sheet.done),
        next=lines(sheet.next),
        decide=lines(sheet.decide),
        visit=lines(sheet.visit),
        promised_words=day_words(build.promised_on if sent_at else sheet.promised_on or build.promised_on),
        date_words=sheet.get_date_words_display(),
        date_note=sheet.date_note,
        sent_words=f"Sent on {day_words(times.day_of(sent_at))}" if sent_at else "Draft, not sent yet",
    )


def lines(text: str) -> tuple[str, ...]:
    return tuple(line.strip() for line in text.splitlines() if line.strip())


def _photos(sheet: ProgressSheet) -> tuple[PaperPhoto, ...]:
    return tuple(
        PaperPhoto(
            source=f"media:{row.photo.file.name}",
            uuid=str(row.photo.uuid),
            caption=row.caption,
            width_px=row.photo.width_px,
            height_px=row.photo.height_px,
        )
        for row in sheet.photos.select_related("photo")
    )
