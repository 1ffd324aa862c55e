"""What is behind a panel and what is fitted: photos by place in the van, serial numbers and papers."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime

from builds.models import Build, FiledPaper, Installation, Photo, Snag, Unit
from builds.models.evidence import PLACES_IN_VAN

NO_PLACE = "No place given"
MOST_PHOTOS = 400


@dataclass(frozen=True)
class PhotoLine:
    uuid: str
    words: str
    who: str
    at: datetime


@dataclass(frozen=True)
class PlaceInVan:
    """One place and its photos, newest first."""

    name: str
    photos: tuple[PhotoLine, ...]

    @property
    def is_known(self) -> bool:
        return self.name != NO_PLACE


@dataclass(frozen=True)
class PaperLine:
    pk: int
    uuid: str
    title: str
    serial_number: str
    has_file: bool
    is_pdf: bool
    who: str
    at: datetime


@dataclass(frozen=True)
class FittedLine:
    """An installation, or a check, with what is filed against it. Exactly one of the two numbers is set."""

    installation: int | None
    hold_point: int | None
    name: str
    papers: tuple[PaperLine, ...]


@dataclass(frozen=True)
class SnagLine:
    """Something to put right; one of a failed check goes with the recheck and not by hand."""

    pk: int
    text: str
    who: str
    at: datetime
    goes_with_check: str


@dataclass(frozen=True)
class VanPage:
    """The floor's page of one van."""

    build: int
    name: str
    snags: tuple[SnagLine, ...]
    places: tuple[PlaceInVan, ...]
    fitted: tuple[FittedLine, ...]


def van_page(build: Build) -> VanPage:
    """Reads the floor's page of one van; four queries."""
    return VanPage(
        build=build.pk,
        name=build.name,
        snags=open_snags(build),
        places=photos_by_place(build),
        fitted=fitted(build),
    )


def open_snags(build: Build) -> tuple[SnagLine, ...]:
    rows = Snag.objects.filter(build=build, put_right_at=None).select_related("person", "hold_point")
    return tuple(
        SnagLine(row.pk, row.text, str(row.person or ""), row.at, _check_of(row))
        for row in rows.order_by("at", "pk")
    )


def _check_of(snag: Snag) -> str:
    check = snag.hold_point
    return check.name if check is not None and check.state == "failed" else ""


def photos_by_place(build: Build, unit: Unit | None = None) -> tuple[PlaceInVan, ...]:
    """Every place that has photos: the usual places in their order, then those typed, then none given.

    With `unit`: the photos of that unit alone.
    """
    usual = {name.casefold(): name for name in PLACES_IN_VAN}
    found: dict[str, list[PhotoLine]] = defaultdict(list)
    rows = Photo.objects.filter(build=build, **({"unit": unit} if unit else {}))
    rows = rows.select_related("task", "hold_point", "person")
    for photo in rows[:MOST_PHOTOS]:
        place = " ".join(photo.behind.split())
        found[usual.get(place.casefold(), place) or NO_PLACE].append(_photo(photo))
    order = {name: n for n, name in enumerate(PLACES_IN_VAN)}
    names = sorted(found, key=lambda name: (name == NO_PLACE, order.get(name, len(order)), name.casefold()))
    return tuple(PlaceInVan(name, tuple(found[name])) for name in names)


def _photo(photo: Photo) -> PhotoLine:
    words = photo.caption or str(photo.hold_point or photo.task or "The work")
    return PhotoLine(str(photo.uuid), words, str(photo.person or ""), photo.taken_at)


def fitted(build: Build) -> tuple[FittedLine, ...]:
    """Every installation with its serial numbers and papers, then checks that have papers; two queries."""
    papers = FiledPaper.objects.filter(build=build, withdrawn_at=None)
    by_owner: dict[tuple[int | None, int | None], list[FiledPaper]] = defaultdict(list)
    for row in papers.select_related("person", "user", "hold_point"):
        by_owner[row.installation_id, row.hold_point_id if row.installation_id is None else None].append(row)
    lines = [
        FittedLine(row.pk, None, row.name, _papers(by_owner.pop((row.pk, None), [])))
        for row in Installation.objects.filter(build=build)
    ]
    for (installation, check), rows in by_owner.items():
        name = str(rows[0].hold_point or ("Taken out again" if installation else "The van as a whole"))
        lines.append(FittedLine(None, check, name, _papers(rows)))
    return tuple(lines)


def _papers(rows: list[FiledPaper]) -> tuple[PaperLine, ...]:
    return tuple(
        PaperLine(
            pk=row.pk,
            uuid=str(row.uuid),
            title=row.title,
            serial_number=row.serial_number,
            has_file=bool(row.file),
            is_pdf=row.is_pdf,
            who=str(row.person or row.user or ""),
            at=row.at,
        )
        for row in rows
    )
