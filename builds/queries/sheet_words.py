"""A progress sheet in words, the same on paper, on the owner's screen and on the customer's page."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from builds.models import Build, CustomerLink, Photo, ProgressSheet, Shop
from builds.queries.opening import OpeningTimes, opening_times
from builds.queries.tablets import hash_of


@dataclass(frozen=True)
class SheetPicture:
    """A photo on a sheet: where its file is kept, its public id, its words and its size in pixels."""

    source: str
    uuid: str
    caption: str
    width_px: int
    height_px: int

    @property
    def alternative(self) -> str:
        return self.caption or "Photo of the work on your van"


@dataclass(frozen=True)
class SheetWords:
    """All that a progress sheet shows; nothing in it tells of hours, cost or the live forecast."""

    pk: int
    title: str
    shop_name: str
    van: str
    customer: str
    week_words: str
    aim: str
    photos: tuple[SheetPicture, ...]
    done: tuple[str, ...]
    next: tuple[str, ...]
    decide: tuple[str, ...]
    visit: tuple[str, ...]
    promised_words: str
    date_words: str
    date_note: str
    made_words: str


@dataclass(frozen=True)
class CustomerPage:
    """What a customer sees behind their private link: sent sheets, newest first."""

    shop_name: str
    van: str
    promised_words: str
    sheets: tuple[SheetWords, ...]


def day_words(day: date | None) -> str:
    return f"{day:%A} {day.day} {day:%B %Y}" if day else ""


def lines(text: str) -> tuple[str, ...]:
    return tuple(line.strip() for line in text.splitlines() if line.strip())


def sheet_words(
    sheet: ProgressSheet, shop: Shop, times: OpeningTimes, *, sent_at: datetime | None = None
) -> SheetWords:
    """The sheet in words; `sent_at` is the moment of sending where it is being sent just now."""
    build, monday = sheet.stage.build, sheet.stage.monday
    number = times.week_number(build.arrives_on, monday) if build.arrives_on else 0
    friday = day_words(monday + timedelta(days=4))
    sent_at = sent_at or sheet.sent_at
    return SheetWords(
        pk=sheet.pk,
        title=f"Progress sheet: {build.name}, week to {friday}",
        shop_name=shop.name,
        van=build.name,
        customer=build.customer.name,
        week_words=f"Week {number} in our workshop, to {friday}" if number > 0 else f"The week to {friday}",
        aim=sheet.stage.aim,
        photos=tuple(_picture(row) for row in sheet.photos.all()),
        done=lines(sheet.done),
        next=lines(sheet.next),
        decide=lines(sheet.decide),
        visit=lines(sheet.visit),
        promised_words=day_words(sheet.promised_on),
        date_words=sheet.get_date_words_display(),
        date_note=sheet.date_note,
        made_words=f"Sent on {day_words(times.day_of(sent_at))}" if sent_at else "Draft, not sent yet",
    )


def _picture(row) -> SheetPicture:
    photo = row.photo
    return SheetPicture(
        source=f"media:{photo.file.name}",
        uuid=str(photo.uuid),
        caption=row.caption,
        width_px=photo.width_px,
        height_px=photo.height_px,
    )


def open_link(token: str) -> CustomerLink | None:
    """The customer link with this token, unless it was withdrawn or its build dropped."""
    if not 20 <= len(token) <= 100:
        return None
    links = CustomerLink.objects.select_related("build__customer").filter(withdrawn_at=None)
    return links.filter(token_hash=hash_of(token)).exclude(build__status="dropped").first()


def customer_page(build: Build) -> CustomerPage:
    shop = Shop.objects.get(pk=1)
    times = opening_times(shop)
    sheets = (
        ProgressSheet.objects.filter(stage__build=build, sent_at__isnull=False)
        .select_related("stage__build__customer")
        .prefetch_related("photos__photo")
        .order_by("-stage__monday")
    )
    words = tuple(sheet_words(sheet, shop, times) for sheet in sheets)
    told = words[0].promised_words if words else day_words(build.promised_on)
    return CustomerPage(shop.name, build.name, told, words)


def sent_photo(build: Build, uuid) -> Photo | None:
    """A photo that stands on a sent sheet of `build`; no other photo may be seen from outside."""
    on_sent_sheets = Photo.objects.filter(build=build, uuid=uuid, sheetphoto__sheet__sent_at__isnull=False)
    return on_sent_sheets.first()
