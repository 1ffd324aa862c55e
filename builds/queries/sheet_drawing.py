"""One sheet drawn to scale: where each piece lies, what it is, what is left, and in which order it is sawn.

A unit of the drawing is a millimetre. Names stand in a piece where they fit, else its number alone does;
the list beside the drawing has them all.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from builds.engines.cutting.measures import millimetres
from builds.engines.cutting.sawing import SawCut, saw_order
from builds.models import CutSheet, CuttingPlan

MARGIN = 70
LARGEST_LETTERS, SMALLEST_LETTERS = 52.0, 26.0
LETTER_WIDTH, BOLD_WIDTH = 0.58, 0.66
"""Width of a letter against its height, on average, a little more than common typefaces have."""

LINE = 1.2
MOST_CUTS_ON_A_LINE = 12


@dataclass(frozen=True, slots=True)
class DrawnPiece:
    """A piece with its number; `lines` are (y, text) in it, `letters` high, `turn` how they are turned."""

    number: int
    part: int | None
    name: str
    unit: int | None
    unit_name: str
    build: int | None
    van: str
    size: str
    x: str
    y: str
    width: str
    height: str
    middle: str
    turn: str
    letters: str
    lines: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class DrawnRest:
    """A rest worth keeping."""

    size: str
    area_m2: float
    x: str
    y: str
    width: str
    height: str
    middle: str
    turn: str
    letters: str
    lines: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class DrawnCut:
    """A cut of the first level as a line across the sheet, with its place in the order beside its end."""

    number: int
    path: str
    mark_x: str
    mark_y: str
    text_y: str


@dataclass(frozen=True, slots=True)
class SheetDrawing:
    """`order` says the cuts in words, a line for each piece on the saw."""

    view: str
    small_width: str
    small_height: str
    length: str
    width: str
    trim: str
    pieces: tuple[DrawnPiece, ...]
    rests: tuple[DrawnRest, ...]
    first_cuts: tuple[DrawnCut, ...]
    order: tuple[str, ...]
    used_percent: int
    grain_y: str
    grain_above: str
    grain_below: str
    grain_text_y: str


def sheet_drawing(sheet: CutSheet, plan: CuttingPlan) -> SheetDrawing:
    """The drawing of a sheet; asks nothing of the database."""
    length, width = sheet.length_tenths, sheet.width_tenths or 0
    trim = plan.trim_tenths
    pieces = sorted(sheet.pieces, key=lambda p: (p["y"], p["x"]))
    rects = [(p["x"], p["y"], p["length"], p["width"]) for p in pieces]
    rects += [(r[0], r[1], r[2], r[3]) for r in sheet.leftovers]
    cuts = saw_order(rects, (trim, trim, length - trim, width - trim), plan.kerf_tenths)
    area = sum(p["length"] * p["width"] for p in pieces)
    return SheetDrawing(
        view=f"-{MARGIN} -{MARGIN} {_mm(length + 20 * MARGIN)} {_mm(width + 20 * MARGIN)}",
        small_width=_mm(length + 160),
        small_height=_mm(width + 160),
        length=_mm(length),
        width=_mm(width),
        trim=_mm(trim),
        pieces=tuple(_piece(n, piece) for n, piece in enumerate(pieces, start=1)),
        rests=tuple(_rest(rest) for rest in sheet.leftovers),
        first_cuts=tuple(
            _line(n, cut, plan.kerf_tenths) for n, cut in enumerate(cuts, start=1) if cut.level == 1
        ),
        order=order_in_words(cuts),
        used_percent=round(100 * area / (length * width)) if width else 0,
        grain_y=_mm(width + 350),
        grain_above=_mm(width + 230),
        grain_below=_mm(width + 470),
        grain_text_y=_mm(width + 460),
    )


def size_words(length: int, width: int) -> str:
    """A size in tenths as it is read at the saw: along the grain first."""
    return f"{_mm(length)} × {_mm(width)}"


def order_in_words(cuts: Sequence[SawCut]) -> tuple[str, ...]:
    """The cuts in a few lines: what the fence is set to, strip by strip."""
    strips: dict[tuple, list[SawCut]] = defaultdict(list)
    for cut in cuts:
        left, near, right, far = cut.strip
        side = (left, right, far) if cut.is_rip else (near, far, right)
        strips[cut.level, cut.is_rip, side].append(cut)
    lines = [
        line for (level, is_rip, _), found in strips.items() for line in _strip_words(level, is_rip, found)
    ]
    return tuple(_times(line, len(list(alike))) for line, alike in groupby(lines))


def _times(line: str, times: int) -> str:
    return line if times == 1 else f"{line}, {times} times"


def _strip_words(level: int, is_rip: bool, cuts: Sequence[SawCut]) -> list[str]:
    """One strip's cuts; a long row of cuts goes over several lines."""
    left, near, right, far = cuts[0].strip
    what = "Rip" if is_rip else "Crosscut"
    of_what = "" if level == 1 else f" the piece {size_words(right - left, far - near)}"
    kept = [_mm(cut.size) for cut in cuts if cut.size]
    trims = sum(not cut.size for cut in cuts)
    if not kept:
        return [f"{what} the waste off{of_what}"]
    lines = []
    for at in range(0, len(kept), MOST_CUTS_ON_A_LINE):
        sizes = ", ".join(kept[at : at + MOST_CUTS_ON_A_LINE])
        lines.append(f"{what}{of_what} at {sizes}" if not at else f"and at {sizes}")
    if trims:
        lines[-1] += ", and trim the waste off"
    return lines


def _piece(number: int, piece: dict[str, Any]) -> DrawnPiece:
    size = size_words(piece["length"], piece["width"])
    box = _box(piece["x"], piece["y"], piece["length"], piece["width"])
    writings = [
        [f"{number} {piece['name']}", piece["unit_name"], size],
        [f"{number} {piece['name']}", size],
        [f"{number}", size],
        [f"{number}"],
    ]
    return DrawnPiece(
        number=number,
        part=piece.get("part"),
        name=piece["name"],
        unit=piece.get("unit"),
        unit_name=piece.get("unit_name", ""),
        build=piece.get("build"),
        van=piece.get("van", ""),
        size=size,
        **box,
        **_written(writings, piece["x"], piece["y"], piece["length"], piece["width"]),
    )


def _rest(rest: Sequence[int]) -> DrawnRest:
    x, y, length, width = rest
    size = size_words(length, width)
    return DrawnRest(
        size=size,
        area_m2=length * width / 1e8,
        **_box(x, y, length, width),
        **_written([["left over", size], [size], [""]], x, y, length, width),
    )


def _box(x: int, y: int, length: int, width: int) -> dict[str, str]:
    return {"x": _mm(x), "y": _mm(y), "width": _mm(length), "height": _mm(width)}


def _written(writings: Sequence[Sequence[str]], x: int, y: int, length: int, width: int) -> dict[str, Any]:
    """The fullest writing that fits in a rectangle, along its longer side if it must, and how large."""
    wide, high = length / 10 - 12, width / 10 - 12
    for lines in writings:
        for turn in (False, True):
            room, rise = (high, wide) if turn else (wide, high)
            letters = min(
                LARGEST_LETTERS,
                room / _breadth(lines),
                rise / (len(lines) * LINE),
            )
            if letters >= SMALLEST_LETTERS or lines is writings[-1]:
                return _set(lines, turn, max(letters, 14.0), x / 10 + length / 20, y / 10 + width / 20)
    raise AssertionError("the last writing always fits")


def _breadth(lines: Sequence[str]) -> float:
    """How many times their height the lines are wide, the first in bold."""
    return max([len(lines[0]) * BOLD_WIDTH, *(len(line) * LETTER_WIDTH for line in lines), 0.1])


def _set(lines: Sequence[str], turn: bool, letters: float, x: float, y: float) -> dict[str, Any]:
    step = letters * LINE
    first = y - step * (len(lines) - 1) / 2 + letters * 0.35
    return {
        "middle": f"{x:.1f}",
        "turn": f"rotate(-90 {x:.1f} {y:.1f})" if turn else "",
        "letters": f"{letters:.1f}",
        "lines": tuple((f"{first + n * step:.1f}", line) for n, line in enumerate(lines)),
    }


def _line(number: int, cut: SawCut, kerf: int) -> DrawnCut:
    at, start, end = (f"{size / 10:.1f}" for size in (cut.at + kerf / 2, cut.start, cut.end))
    beside = f"{-MARGIN / 2:.1f}"
    x, y = (beside, at) if cut.is_rip else (at, beside)
    return DrawnCut(
        number=number,
        path=f"M{start} {at}H{end}" if cut.is_rip else f"M{at} {start}V{end}",
        mark_x=x,
        mark_y=y,
        text_y=f"{float(y) + 11:.1f}",
    )


def _mm(tenths: int) -> str:
    return f"{millimetres(tenths)}"
