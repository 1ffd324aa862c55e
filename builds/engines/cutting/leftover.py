"""Leaves as much as can be of one sheet in one rectangle, the number of sheets staying as it is."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from .blocks import Board
from .boxes import ALONG_X, ALONG_Y
from .filling import Sheet
from .search import MEMORY, Cutter, Filled

STEP = 1.03
MOST_MORE, LEAST_MORE = 1.08, 1.005
FEWEST_TRIES, MOST_TRIES = 300, 100_000
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
    board = emptiest(cutter, best).board
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


def push_leftover(cutter: Cutter, best: Filled, kerf: int, is_over: Callable[[], bool]) -> Filled:
    """Asks for a leftover a little larger than the last one, over all sheets at once, while there is time."""
    levels = cutter.levels = max(sheet.levels for sheet in best.sheets)
    step, tries, turn = MOST_MORE, FEWEST_TRIES, 0
    while not is_over():
        area = int(largest_rest(best, kerf) * step) + 1
        start = _with_kept(cutter, best, (ALONG_Y, ALONG_X)[turn % 2], area, levels, kerf)
        found = cutter.improve(start, best.cost, _after(tries, is_over)) if start is not None else None
        turn += 1
        if found is not None:
            best = found
        elif turn % 2 == 0:
            step = 1 + (step - 1) / 2 if step > LEAST_MORE else MOST_MORE
            tries = tries * 2 if step == MOST_MORE else tries
            if tries > MOST_TRIES:
                break
    return best


def _with_kept(cutter: Cutter, best: Filled, axis: int, area: int, levels: int, kerf: int) -> Filled | None:
    """The layout with its emptiest sheet begun anew, a strip of that net area kept free on it."""
    board = emptiest(cutter, best).board
    along, across = (board.width, board.length) if axis == ALONG_Y else (board.length, board.width)
    free = math.ceil(area / (across - kerf)) + kerf if across > kerf else along
    if free >= along:
        return None
    fresh = Sheet(board, cutter.least, levels)
    fresh.keep_free(axis, free)
    rest = one_less(cutter, best, levels)
    return Filled([fresh, *rest.sheets], rest.left)


def _after(tries: int, is_over: Callable[[], bool]) -> Callable[[], bool]:
    left = tries

    def over() -> bool:
        nonlocal left
        left -= 1
        return left < 0 or is_over()

    return over


def emptiest(cutter: Cutter, filled: Filled) -> Sheet:
    return min(filled.sheets, key=lambda sheet: sum(cutter.areas[b] for b in sheet.blocks))


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
