"""One unit as a paper for the bench: its drawing with sizes, its fronts and its parts, no money."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from builds.models import Shop, Unit
from builds.queries.opening import opening_times
from builds.queries.unit_page import UnitPage, unit_page
from builds.reports.part_labels import code_of
from builds.reports.render import render


@dataclass(frozen=True)
class UnitPaper:
    """`code` draws the dark squares of the code that opens the unit on a tablet, `code_size` squares wide."""

    title: str
    shop_name: str
    made_words: str
    van: str
    lead: str
    about: UnitPage
    code: str
    code_size: int


def unit_paper(unit: Unit, link: str, now: datetime, *, shop: Shop) -> tuple[str, bytes]:
    """The paper's HTML and PDF; `unit` with its build and making, `link` the address of its job."""
    about = unit_page(unit)
    day = opening_times(shop).day_of(now)
    code, size = code_of(link)
    stands = f", {unit.stands}" if unit.stands else ""
    report = UnitPaper(
        title=f"{unit.name}, {unit.build.name}",
        shop_name=shop.name,
        made_words=f"As on {day:%a} {day.day} {day:%b} {day.year}",
        van=unit.build.name,
        lead=f"{about.kind}, {unit.width_mm} × {unit.depth_mm} × {unit.height_mm} mm{stands}",
        about=about,
        code=code,
        code_size=size,
    )
    return render("reports/unit.html", report)
