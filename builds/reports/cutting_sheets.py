"""Cutting sheets as a paper: a list by sheet, then each sheet to scale with its pieces and order of cuts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from builds.engines.cutting.measures import millimetres
from builds.models import Caution, Shop
from builds.queries.cut_lengths import LengthPlan
from builds.queries.cutting import BoardPlan
from builds.queries.opening import opening_times
from builds.reports.render import render


@dataclass(frozen=True)
class CuttingSheets:
    """The boards of one build or several; sheets that are cut already are listed, not drawn."""

    title: str
    shop_name: str
    made_words: str
    boards: tuple[BoardPlan, ...]
    kerf_mm: float | int
    caution: str
    lengths: tuple[LengthPlan, ...] = ()

    @property
    def unfit(self) -> tuple:
        return tuple(part for board in self.boards for part in board.unfit)


def cutting_sheets_paper(
    title: str,
    boards: Sequence[BoardPlan],
    now: datetime,
    *,
    shop: Shop,
    lengths: tuple[LengthPlan, ...] = (),
) -> tuple[str, bytes]:
    """The sheets of these boards and lists of lengths as HTML and PDF; boards without a plan are left out."""
    planned = tuple(board for board in boards if board.plan)
    day = opening_times(shop).day_of(now)
    kerfs = [board.plan.kerf_tenths for board in planned if board.plan]
    report = CuttingSheets(
        title=title,
        shop_name=shop.name,
        made_words=f"As laid out on {day:%a} {day.day} {day:%b} {day.year}",
        boards=planned,
        kerf_mm=millimetres(max(kerfs, default=shop.saw_kerf_tenths)),
        caution=Caution.objects.filter(key="machines").values_list("text", flat=True).first() or "",
        lengths=lengths,
    )
    return render("reports/cutting_sheets.html", report)
