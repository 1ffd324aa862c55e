"""Leaves as much as can be of one sheet in one rectangle, the number of sheets staying as it is."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from .blocks import Board
from .boxes import ALONG_X, ALONG_Y
from .filling import Sheet
from .search import MEMORY, Cutter, Filled

STEP = 1.03
WORTH_A_LOOK = 1.15
"""How much more than the least area may be left over for the rest still to be laid out on trial."""


def one_less(cutter: Cutter, best: Filled, levels: int) -> Filled:
    """The layout without its emptiest sheet, whose blocks wait to be laid elsewhere."""
    sheets = sorted(best.sheets, key=lambda sheet: sum(cutter.areas[b] for b in sheet.blocks))
    kept = [sheet.copy() for sheet in sheets[1:]]
    for sheet in kept:
        sheet.levels = levels
        sheet.look_for_holes()
    return Filled(kept, sheets[0].blocks)


def larger_leftover(cutter: Cutter, best: Filled, kerf: int, is_over: Callable[[], bool]) -> Filled:
    """Fills all sheets but one as full as the time allows, and the rest into a strip of that one.

    Gives `best` itself when no larger leftover was found.
    """
    levels = cutter.levels = max(sheet.levels for sheet in best.sheets)
    board = min(best.sheets, key=lambda sheet: sum(cutter.areas[b] for b in sheet.blocks)).board
    largest = largest_rest(best, kerf)
    now = one_less(cutter, best, levels)
    limit = now.cost
    current = least = sum(cutter.areas[b] for b in now.left)
    remembered, turn = [current] * MEMORY, 0
    tried: set[frozenset[int]] = set()
    while now.left and not is_over():
        new = cutter.again(now, limit)
        area = sum(cutter.areas[b] for b in new.left)
        if area <= current or area <= remembered[turn % MEMORY]:
            now, current, least = new, area, min(area, least)
            left = frozenset(new.left)
            if area <= least * WORTH_A_LOOK and left not in tried:
                tried.add(left)
                sheet = strip(cutter, new.left, board, levels, kerf, largest)
                if sheet is not None:
                    best = Filled([*new.sheets, sheet], [])
                    largest = largest_rest(best, kerf)
        remembered[turn % MEMORY] = current
        turn += 1
    return best


def strip(
    cutter: Cutter, blocks: Sequence[int], board: Board, levels: int, kerf: int, larger_than: int
) -> Sheet | None:
    """Lays the blocks on part of a fresh sheet so that the rest, in one rectangle, beats `larger_than`."""
    found = None
    area = sum(cutter.areas[b] for b in blocks)
    for axis, along, across in ((ALONG_Y, board.width, board.length), (ALONG_X, board.length, board.width)):
        used = max(area / across, max(min(size[axis] for size in cutter.sizes[b]) for b in blocks))
        while (free := along - math.ceil(used)) > kerf and (free - kerf) * (across - kerf) > larger_than:
            sheet = _laid(cutter, blocks, board, levels, axis, free)
            if sheet is not None:
                found, larger_than = sheet, (free - kerf) * (across - kerf)
                break
            used *= STEP
    return found


def _laid(
    cutter: Cutter, blocks: Sequence[int], board: Board, levels: int, axis: int, free: int
) -> Sheet | None:
    for key in cutter.keys:
        sheet = Sheet(board, cutter.least, levels)
        sheet.keep_free(axis, free)
        order = sorted(blocks, key=lambda b: -key[b])
        if not cutter.fill([sheet], order, limit=0).left:
            return sheet
    return None


def largest_rest(filled: Filled, kerf: int) -> int:
    """Net area of the largest empty box."""
    leaves = [leaf for sheet in filled.sheets for leaf in sheet.root.leaves() if leaf.block < 0]
    return max((max(leaf.w - kerf, 0) * max(leaf.h - kerf, 0) for leaf in leaves), default=0)
