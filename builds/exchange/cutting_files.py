"""Cutting problems and layouts as JSON files, in the format of the shared cutting problems.

Sizes in a file are millimetres, to a tenth. Nothing here needs a database.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

from builds.engines.cutting.layout import Layout, Piece
from builds.engines.cutting.lengths import LengthsCut
from builds.engines.cutting.measures import millimetres, require_count, tenths
from builds.engines.cutting.pieces import Part, SheetProblem, StockSheet


class UnreadableCuttingList(ValueError):
    """A file that is not a cutting problem; `where` names it."""

    def __init__(self, where: str, why: str) -> None:
        super().__init__(f"{where}: {why}")
        self.where = where


@dataclass(frozen=True)
class LengthsProblem:
    """Pieces to cut from one length of stock, in tenths of a millimetre."""

    stock_tenths: int
    kerf_tenths: int
    pieces: tuple[int, ...]


def read_cutting_list(path: str | Path) -> SheetProblem | LengthsProblem:
    """The problem in a JSON file. Raises UnreadableCuttingList, with the reason, for what can't be cut."""
    try:
        data = json.loads(Path(path).read_text(encoding="utf-8"))
        if not isinstance(data, dict):
            raise ValueError("a cutting problem is one JSON object")
        return _lengths(data) if "stock_length" in data else _sheets(data)
    except (OSError, ValueError, KeyError, TypeError, AttributeError, ArithmeticError) as wrong:
        raise UnreadableCuttingList(str(path), _why(wrong)) from wrong


def _why(wrong: Exception) -> str:
    return f"{wrong} is missing" if isinstance(wrong, KeyError) else str(wrong)


def _lengths(data: Mapping[str, Any]) -> LengthsProblem:
    pieces: list[int] = []
    for row in data["pieces"]:
        size, count = tenths(row["length"], subject="piece", field="length"), row["count"]
        require_count(count, subject=f"piece of {row['length']}")
        pieces += [size] * count
    stock = tenths(data["stock_length"], subject="stock", field="length")
    return LengthsProblem(stock, tenths(data.get("kerf", 0), field="kerf"), tuple(pieces))


def _sheets(data: Mapping[str, Any]) -> SheetProblem:
    return SheetProblem(
        parts=tuple(_part(row) for row in data["parts"]),
        stock=tuple(_stock(row) for row in data["sheets"]),
        kerf_tenths=tenths(data["kerf"], field="kerf"),
        trim_tenths=tenths(data["trim"], field="trim"),
        runs=tuple(_run(run) for run in data.get("runs", [])),
    )


def _run(row: Any) -> tuple[str, ...]:
    if not isinstance(row, list):
        raise ValueError(f"a run is a list of parts, not {row}")
    return tuple(row)


def _part(row: Mapping[str, Any]) -> Part:
    if row["grain"] not in ("along", "any"):
        raise ValueError(f"{row['id']}: grain is along or any, not {row['grain']}")
    return Part(
        key=row["id"],
        length_tenths=tenths(row["length"], subject=row["id"], field="length"),
        width_tenths=tenths(row["width"], subject=row["id"], field="width"),
        count=row["count"],
        may_turn=row["grain"] == "any",
        name=row.get("label", ""),
    )


def _stock(row: Mapping[str, Any]) -> StockSheet:
    return StockSheet(
        key=row["id"],
        length_tenths=tenths(row["length"], subject=row["id"], field="length"),
        width_tenths=tenths(row["width"], subject=row["id"], field="width"),
        count=row.get("count"),
        cost=_cost(row),
    )


def _cost(row: Mapping[str, Any]) -> Decimal:
    try:
        return Decimal(str(row.get("cost", 1)))
    except InvalidOperation:
        raise ValueError(f"{row['id']}: cost is not a number") from None


def write_layout(path: str | Path, layout: Layout) -> None:
    """Writes sheets, pieces, leftovers and what is unplaced, in millimetres."""
    sheets = [
        {
            "stock": sheet.stock,
            "pieces": [_piece(piece) for piece in sheet.pieces],
            "leftovers": [_rectangle(*rest) for rest in sheet.leftovers],
        }
        for sheet in layout.sheets
    ]
    unplaced = [{"part": part, "count": count} for part, count in layout.unplaced.items()]
    Path(path).write_text(json.dumps({"sheets": sheets, "unplaced": unplaced}), encoding="utf-8")


def _piece(piece: Piece) -> dict[str, Any]:
    return {"part": piece.part, **_rectangle(piece.x, piece.y, piece.length, piece.width)}


def _rectangle(x: int, y: int, length: int, width: int) -> dict[str, int | float]:
    sizes = {"x": x, "y": y, "length": length, "width": width}
    return {name: millimetres(size) for name, size in sizes.items()}


def write_lengths(path: str | Path, cut: LengthsCut) -> None:
    """Writes the pieces of each length, in millimetres, and those longer than the stock."""
    lists = [[millimetres(piece) for piece in length] for length in cut.lengths]
    unplaced = [millimetres(piece) for piece in cut.unplaced]
    Path(path).write_text(json.dumps({"lengths": lists, "unplaced": unplaced}), encoding="utf-8")
