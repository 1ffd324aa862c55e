"""A finished layout: what is cut where on each sheet, what is left, how many cuts it takes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from .blocks import Block
from .boxes import Box
from .filling import Sheet
from .pieces import SheetProblem

Rectangle = tuple[int, int, int, int]


@dataclass(frozen=True, slots=True)
class Piece:
    """A part as cut: its corner from the sheet's corner, sizes along and across the sheet, in tenths."""

    part: str
    x: int
    y: int
    length: int
    width: int


@dataclass(frozen=True, slots=True)
class SheetLayout:
    """One sheet of stock with its pieces and the usable rectangles left, all in tenths of a millimetre."""

    stock: str
    pieces: tuple[Piece, ...]
    leftovers: tuple[Rectangle, ...]
    cuts: int
    levels: int


@dataclass(frozen=True)
class Layout:
    """All sheets of a problem. `unplaced` counts the parts that fit no sheet, by key."""

    sheets: tuple[SheetLayout, ...]
    unplaced: dict[str, int]
    cost: int

    @property
    def cuts(self) -> int:
        return sum(sheet.cuts for sheet in self.sheets)

    @property
    def levels(self) -> int:
        return max((sheet.levels for sheet in self.sheets), default=0)

    @property
    def largest_leftover(self) -> int:
        """Area of the largest usable leftover, in square tenths of a millimetre."""
        return max((w * h for sheet in self.sheets for _, _, w, h in sheet.leftovers), default=0)


def layout_of(
    problem: SheetProblem, blocks: Sequence[Block], sheets: Sequence[Sheet], left: Sequence[Block]
) -> Layout:
    """Turns filled sheets into a layout; blocks in `left` are named as unplaced."""
    unplaced: Counter[str] = Counter()
    for block in left:
        unplaced.update(block.keys)
    laid = [_sheet(problem, blocks, sheet) for sheet in sheets if sheet.blocks]
    cost = sum(sheet.board.cost for sheet in sheets if sheet.blocks)
    return Layout(tuple(laid), dict(unplaced), cost)


def _sheet(problem: SheetProblem, blocks: Sequence[Block], sheet: Sheet) -> SheetLayout:
    pieces: list[Piece] = []
    rests: list[tuple[int, Rectangle]] = []
    for leaf in sheet.root.leaves():
        if leaf.block >= 0:
            pieces += _pieces(problem, blocks[leaf.block], leaf)
        else:
            rests.append((leaf.depth, _net(problem, leaf)))
    usable = [
        (depth, rest) for depth, rest in rests if min(rest[2:]) > 0 and problem.leftovers.keeps(*rest[2:])
    ]
    depth_of_pieces = max(leaf.depth for leaf in sheet.root.leaves() if leaf.block >= 0)
    kept = [rest for depth, rest in usable if depth <= max(3, depth_of_pieces)]
    rectangles = [(p.x, p.y, p.length, p.width) for p in pieces] + kept
    cuts, levels = cuts_and_levels(rectangles, _inside(problem, sheet), problem.kerf_tenths)
    return SheetLayout(sheet.board.stock.key, tuple(pieces), tuple(kept), cuts, levels)


def _inside(problem: SheetProblem, sheet: Sheet) -> Rectangle:
    """Corners of the sheet inside its trims."""
    stock, trim = sheet.board.stock, problem.trim_tenths
    return trim, trim, stock.length_tenths - trim, stock.width_tenths - trim


def _net(problem: SheetProblem, leaf: Box) -> Rectangle:
    trim, kerf = problem.trim_tenths, problem.kerf_tenths
    return leaf.x + trim, leaf.y + trim, leaf.w - kerf, leaf.h - kerf


def _pieces(problem: SheetProblem, block: Block, leaf: Box) -> list[Piece]:
    trim, kerf = problem.trim_tenths, problem.kerf_tenths
    x, y, width = leaf.x + trim, leaf.y + trim, leaf.laid[1] - kerf
    if len(block.keys) == 1:
        return [Piece(block.keys[0], x, y, leaf.laid[0] - kerf, width)]
    found = []
    for key, length in zip(block.keys, block.lengths, strict=True):
        found.append(Piece(key, x, y, length, width))
        x += length + kerf
    return found


def cuts_and_levels(rectangles: Sequence[Rectangle], box: Rectangle, kerf: int) -> tuple[int, int]:
    """Fewest saw cuts that free `rectangles` from `box` (corners), edge to edge, and levels they make.

    Cuts in one direction, one after another, make one level; trimming a piece makes none. Raises
    ValueError when no such cuts part the rectangles.
    """
    return ways_to_part(rectangles, box, kerf)[0][:2]


def ways_to_part(rectangles: Sequence[Rectangle], box: Rectangle, kerf: int) -> list[tuple[int, int, bool]]:
    """Cuts, levels and whether the first level is crosscuts, for each way to begin; the best first."""
    lows = [min(r[axis] for r in rectangles) for axis in (0, 1)]
    highs = [max(r[axis] + r[axis + 2] for r in rectangles) for axis in (0, 1)]
    trims = sum((lows[a] > box[a]) + (highs[a] < box[a + 2]) for a in (0, 1))
    if len(rectangles) == 1:
        return [(trims, 0, False)]
    ways = []
    for axis in (0, 1):
        groups = groups_along(rectangles, axis, kerf)
        if len(groups) > 1:
            cuts, levels = _along(groups, axis, kerf, lows, highs)
            ways.append((trims + cuts, levels + 1, axis == 0))
    if not ways:
        raise ValueError("no edge-to-edge cut parts these rectangles")
    return sorted(ways)


def _along(
    groups: list[list[Rectangle]], axis: int, kerf: int, lows: list[int], highs: list[int]
) -> tuple[int, int]:
    cuts, levels, end = 0, 0, None
    for group in groups:
        start = min(r[axis] for r in group)
        if end is not None:
            cuts += 1 + (start - end > kerf)
        end = max(r[axis] + r[axis + 2] for r in group)
        inside = [*lows, *highs]
        inside[axis], inside[axis + 2] = start, end
        more, deeper = cuts_and_levels(group, (inside[0], inside[1], inside[2], inside[3]), kerf)
        cuts, levels = cuts + more, max(levels, deeper)
    return cuts, levels


def groups_along(rectangles: Sequence[Rectangle], axis: int, kerf: int) -> list[list[Rectangle]]:
    """The rectangles in groups that a cut across `axis` can part."""
    rows = sorted(rectangles, key=lambda r: r[axis])
    groups, end = [[rows[0]]], rows[0][axis] + rows[0][axis + 2]
    for row in rows[1:]:
        if row[axis] >= end + kerf:
            groups.append([row])
        else:
            groups[-1].append(row)
        end = max(end, row[axis] + row[axis + 2])
    return groups
