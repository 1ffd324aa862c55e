"""The papers of one build: its weeks with their sheets, the customer's links, photos to choose from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from builds.models import Build, CustomerLink, Photo, ProgressSheet, Shop, Stage
from builds.queries.opening import OpeningTimes, monday_of, opening_times


@dataclass(frozen=True)
class WeekOfPapers:
    """One open week of the build and how far its sheet is: "", "draft" or "sent"."""

    number: int
    monday: date
    friday: date
    aim: str
    sheet_pk: int | None
    state: str
    sent_at: datetime | None


@dataclass(frozen=True)
class LinkLine:
    pk: int
    made_at: datetime
    last_opened_at: datetime | None
    withdrawn_at: datetime | None


@dataclass(frozen=True)
class BuildPapers:
    build: Build
    weeks: tuple[WeekOfPapers, ...]
    links: tuple[LinkLine, ...]

    @property
    def open_links(self) -> tuple[LinkLine, ...]:
        return tuple(link for link in self.links if link.withdrawn_at is None)


@dataclass(frozen=True)
class PhotoChoice:
    """A photo the owner may put on a sheet, ticked when it is on it."""

    pk: int
    uuid: str
    caption: str
    taken_at: datetime
    chosen: bool
    order: int


def build_papers(build: Build, now: datetime) -> BuildPapers:
    """Every open week from arrival (or the first sheet) to this one, newest first."""
    times = opening_times(Shop.objects.get(pk=1))
    stages = {s.monday: s for s in Stage.objects.filter(build=build)}
    sheets = {s.stage_id: s for s in ProgressSheet.objects.filter(stage__build=build).defer("frozen_html")}
    mondays = set(_mondays(build, stages, times.day_of(now), times))
    weeks = [
        _week(monday, stages.get(monday), sheets, build, times) for monday in sorted(mondays, reverse=True)
    ]
    links = CustomerLink.objects.filter(build=build)
    return BuildPapers(
        build=build,
        weeks=tuple(weeks),
        links=tuple(LinkLine(n.pk, n.made_at, n.last_opened_at, n.withdrawn_at) for n in links),
    )


def _mondays(build: Build, stages: dict, today: date, times: OpeningTimes) -> list[date]:
    last = min(today, build.handed_over_on or today)
    first = build.arrives_on or min(stages, default=today)
    open_weeks = times.open_weeks(first, last) if first <= last else []
    return [*open_weeks, *(m for m in stages if m <= monday_of(today))]


def _week(monday: date, stage: Stage | None, sheets: dict, build: Build, times: OpeningTimes) -> WeekOfPapers:
    sheet = sheets.get(stage.pk) if stage else None
    return WeekOfPapers(
        number=times.week_number(build.arrives_on, monday) if build.arrives_on else 0,
        monday=monday,
        friday=monday + timedelta(days=4),
        aim=stage.aim if stage else "",
        sheet_pk=sheet.pk if sheet else None,
        state="" if sheet is None else "sent" if sheet.sent_at else "draft",
        sent_at=sheet.sent_at if sheet else None,
    )


def photo_choices(sheet: ProgressSheet, most: int = 60) -> tuple[PhotoChoice, ...]:
    """Photos of the build that may go to the customer: those on the sheet first, then the newest."""
    on_sheet = {row.photo_id: row for row in sheet.photos.all()}
    photos = Photo.objects.filter(build_id=sheet.stage.build_id, for_customer=True)[:most]
    chosen = Photo.objects.filter(pk__in=on_sheet)
    found = {p.pk: p for p in [*chosen, *photos]}
    choices = [
        PhotoChoice(
            pk=pk,
            uuid=str(photo.uuid),
            caption=on_sheet[pk].caption if pk in on_sheet else photo.caption,
            taken_at=photo.taken_at,
            chosen=pk in on_sheet,
            order=on_sheet[pk].order + 1 if pk in on_sheet else 0,
        )
        for pk, photo in found.items()
    ]
    return tuple(sorted(choices, key=lambda c: (not c.chosen, c.order, -c.taken_at.timestamp())))
