"""Labels for cut parts: what it is, whose it is, and a code that opens the unit's job on a tablet.

Twenty-four on an A4 page, 70 x 37 mm each, as label sheets of that size are sold; in the order of the saw.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

import segno

from builds.models import Part, Shop
from builds.queries.cutting import BoardPlan, PlanSheet
from builds.queries.opening import opening_times
from builds.queries.sheet_drawing import DrawnPiece
from builds.reports.render import render

ON_A_PAGE = 24


@dataclass(frozen=True)
class Label:
    """One piece's label; `code` draws the dark squares of its code, `code_size` squares wide."""

    name: str
    unit: str
    van: str
    size: str
    board: str
    place: str
    edges: str
    code: str
    code_size: int


@dataclass(frozen=True)
class PartLabels:
    title: str
    shop_name: str
    made_words: str
    pages: tuple[tuple[Label, ...], ...]


def part_labels_paper(
    title: str, boards: Sequence[BoardPlan], link_of: Callable[[int], str], now: datetime, *, shop: Shop
) -> tuple[str, bytes]:
    """A label a piece, sheet by sheet, as HTML and PDF. `link_of` gives the address of a unit's job."""
    labels = _labels(boards, link_of)
    day = opening_times(shop).day_of(now)
    report = PartLabels(
        title=title,
        shop_name=shop.name,
        made_words=f"{day:%a} {day.day} {day:%b} {day.year}",
        pages=tuple(tuple(labels[at : at + ON_A_PAGE]) for at in range(0, len(labels), ON_A_PAGE)),
    )
    return render("reports/part_labels.html", report)


def _labels(boards: Sequence[BoardPlan], link_of: Callable[[int], str]) -> list[Label]:
    pieces = [
        (board, sheet, piece)
        for board in boards
        for sheet in board.sheets
        for piece in (sheet.drawing.pieces if sheet.drawing else ())
    ]
    edges = _edges({piece.part for _, _, piece in pieces if piece.part})
    codes = {unit: code_of(link_of(unit)) for unit in {piece.unit for _, _, piece in pieces if piece.unit}}
    return [_label(board, sheet, piece, edges, codes) for board, sheet, piece in pieces]


def _label(
    board: BoardPlan,
    sheet: PlanSheet,
    piece: DrawnPiece,
    edges: dict[int, str],
    codes: dict[int, tuple[str, int]],
) -> Label:
    code, size = codes.get(piece.unit or 0, ("", 1))
    return Label(
        name=piece.name,
        unit=piece.unit_name,
        van=piece.van,
        size=f"{piece.size} mm",
        board=board.material.name,
        place=f"sheet {sheet.number}, piece {piece.number}",
        edges=edges.get(piece.part or 0, ""),
        code=code,
        code_size=size,
    )


def _edges(parts: set[int]) -> dict[int, str]:
    rows = Part.ever.filter(pk__in=parts)
    return {part.pk: "finish " + ", ".join(part.finished_edges) for part in rows if part.finished_edges}


def code_of(link: str) -> tuple[str, int]:
    """The dark squares of a link's code as the path of a drawing, and how many squares wide it is."""
    code = segno.make(link, error="m", micro=False)
    rows = [
        f"M{x} {y}h1v1h-1z" for y, row in enumerate(code.matrix) for x, is_dark in enumerate(row) if is_dark
    ]
    return "".join(rows), code.symbol_size(border=0)[0]
