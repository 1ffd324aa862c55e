"""The door of the sheet cutter: a problem in, the best layout found in the time out."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from random import Random
from time import monotonic

from .blocks import Block, Board, blocks_of, boards_of, fits
from .boxes import ALONG_X, ALONG_Y
from .filling import Sheet
from .layout import Layout, layout_of
from .pieces import SheetProblem
from .search import Cutter, Filled

USUAL_LEVELS = 3
ANY_LEVELS = 99
SHARE_FOR_SHEETS = 0.6
SHARE_FOR_LEFTOVER = 0.25
MOST_TRIES = 200_000


@dataclass(frozen=True, slots=True)
class Progress:
    """How far it is: seconds spent, sheets and cost of the best layout so far."""

    seconds: float
    sheets: int
    cost: int


@dataclass
class _Watch:
    """The time: spent, and whether it is over or somebody asked to stop."""

    seconds: float
    clock: Callable[[], float]
    should_stop: Callable[[], bool]

    def __post_init__(self) -> None:
        self.since = self.clock()

    @property
    def spent(self) -> float:
        return self.clock() - self.since

    def until(self, share: float) -> Callable[[], bool]:
        end = self.since + self.seconds * share
        return lambda: self.clock() >= end or self.should_stop()


def cut_sheets(
    problem: SheetProblem,
    *,
    seconds: float = 0.0,
    seed: int = 1,
    on_progress: Callable[[Progress], None] | None = None,
    should_stop: Callable[[], bool] = lambda: False,
    clock: Callable[[], float] = monotonic,
) -> Layout:
    """Lays the parts of `problem` on its sheets: the cheapest sheets, then one large leftover, then few cuts.

    At `seconds` 0 the first layout straight down the usual orders; with more, a search for a better
    one in about that time, which `should_stop` ends early. Three levels of cuts (rips, crosscuts,
    trims) unless more save a sheet. What fits no sheet is named in `unplaced`, never dropped. The same
    seed and time try the same things; how many depends on the machine. `clock` is a stopwatch, in seconds.
    """
    watch = _Watch(seconds, clock, should_stop)
    boards = boards_of(problem)
    every = blocks_of(problem)
    blocks = [block for block in every if any(fits(block, board) for board in boards)]
    unfit = [block for block in every if not any(fits(block, board) for board in boards)]
    if not blocks:
        return layout_of(problem, blocks, [], unfit)
    chance = Random(seed)
    cutter = Cutter(blocks, boards, USUAL_LEVELS, chance)
    best = min((cutter.first(key) for key in range(len(cutter.keys))), key=lambda f: (len(f.left), f.cost))
    left = [blocks[n] for n in best.left]
    best = Filled(best.sheets, [])
    if seconds > 0:
        said = _said(on_progress, watch)
        best = _fewer_sheets(cutter, best, _bound(blocks, left, boards), watch, said)
        best = _larger_leftover(problem, cutter, best, watch.until(SHARE_FOR_SHEETS + SHARE_FOR_LEFTOVER))
        best = cutter.fewer_cuts(best, watch.until(1.0))
    return layout_of(problem, blocks, best.sheets, unfit + left)


def _said(on_progress: Callable[[Progress], None] | None, watch: _Watch) -> Callable[[Filled], None]:
    def say(best: Filled) -> None:
        if on_progress is not None:
            on_progress(Progress(watch.spent, len(best.sheets), best.cost))

    return say


def _bound(blocks: list[Block], left: list[Block], boards: list[Board]) -> int:
    """A cost below which no layout can be: the area to cut at the cheapest price an area can be had for."""
    area = sum(block.area for block in blocks) - sum(block.area for block in left)
    if len(boards) == 1:
        return math.ceil(area / (boards[0].length * boards[0].width)) * boards[0].cost
    return math.ceil(area * min(board.cost / (board.length * board.width) for board in boards))


def _fewer_sheets(
    cutter: Cutter, best: Filled, bound: int, watch: _Watch, say: Callable[[Filled], None]
) -> Filled:
    """Asks for less cost again and again; with three levels first, then with as many as it takes."""
    for levels, share in ((USUAL_LEVELS, SHARE_FOR_SHEETS / 2), (ANY_LEVELS, SHARE_FOR_SHEETS)):
        cutter.levels = levels
        is_over = watch.until(share)
        while best.cost > bound and not is_over():
            found = cutter.improve(_one_less(cutter, best, levels), best.cost, is_over)
            if found is None:
                break
            best = found
            say(best)
    return best


def _one_less(cutter: Cutter, best: Filled, levels: int) -> Filled:
    """The layout without its emptiest sheet, whose blocks wait to be laid elsewhere."""
    sheets = sorted(best.sheets, key=lambda sheet: sum(cutter.areas[b] for b in sheet.blocks))
    kept = [sheet.copy() for sheet in sheets[1:]]
    for sheet in kept:
        sheet.levels = levels
        sheet.look_for_holes()
    return Filled(kept, sheets[0].blocks)


def _larger_leftover(
    problem: SheetProblem, cutter: Cutter, best: Filled, is_over: Callable[[], bool]
) -> Filled:
    """Empties as much of one sheet in one rectangle as the others can take over."""
    cutter.levels = max(sheet.levels for sheet in best.sheets)
    kerf, step, tries = problem.kerf_tenths, 1.2, 200
    area = _largest_rest(problem, best)
    while not is_over():
        found = None
        for axis in (ALONG_Y, ALONG_X):
            start = _with_kept(cutter, best, axis, int(area * step), kerf)
            if start is not None and found is None:
                found = cutter.improve(start, best.cost, _for_tries(is_over, tries))
        if found is not None:
            best, area = found, max(int(area * step), _largest_rest(problem, found))
        elif step > 1.02:
            step = 1 + (step - 1) / 2
        elif tries > MOST_TRIES:
            break
        else:
            step, tries = 1.2, tries * 2
    return best


def _for_tries(is_over: Callable[[], bool], most: int) -> Callable[[], bool]:
    tries = 0

    def over() -> bool:
        nonlocal tries
        tries += 1
        return tries > most or is_over()

    return over


def _largest_rest(problem: SheetProblem, filled: Filled) -> int:
    kerf = problem.kerf_tenths
    leaves = [leaf for sheet in filled.sheets for leaf in sheet.root.leaves() if leaf.block < 0]
    return max((max(leaf.w - kerf, 0) * max(leaf.h - kerf, 0) for leaf in leaves), default=0)


def _with_kept(cutter: Cutter, best: Filled, axis: int, area: int, kerf: int) -> Filled | None:
    """The layout with its emptiest sheet begun anew, a strip of that net area kept free on it."""
    sheets = sorted(best.sheets, key=lambda sheet: sum(cutter.areas[b] for b in sheet.blocks))
    board = sheets[0].board
    along, across = (board.width, board.length) if axis == ALONG_Y else (board.length, board.width)
    size = math.ceil(area / (across - kerf)) + kerf if across > kerf else along
    if size >= along:
        return None
    fresh = Sheet(board, cutter.least, cutter.levels)
    fresh.keep_free(axis, size)
    return Filled([fresh, *(sheet.copy() for sheet in sheets[1:])], sheets[0].blocks)
