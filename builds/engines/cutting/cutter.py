"""The door of the sheet cutter: a problem in, the best layout found in the time out."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from random import Random
from time import monotonic

from .blocks import Block, Board, blocks_of, boards_of, fits
from .layout import Layout, layout_of
from .leftover import larger_leftover, one_less, push_leftover
from .pieces import SheetProblem
from .search import Cutter, Filled
from .strip_cutter import StripCutter

USUAL_LEVELS = 3
ANY_LEVELS = 99
SHARE_FOR_SHEETS = 0.95
SHARE_FOR_THREE_LEVELS = 0.1
SHARE_FOR_CUTS = 0.07
SHARE_FOR_STRIPS = 0.5
MOST_FOR_ALL_ORDERS = 2_000
"""Of more parts the first layout is made in one order only, so that it comes soon."""
KINDS_A_SECOND = 25
"""So many different sizes for a second of search leave time enough to find all their strips."""
SHARES_FOR_LEFTOVER = 0.12, 0.75, 0.5
"""Of the time that is left then: for filling the other sheets, for strips, for asking for a little more."""


_Say = Callable[["Filled"], None]


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

    @property
    def spent_share(self) -> float:
        return min(1.0, self.spent / self.seconds)

    def further(self, share: float) -> float:
        """The share of the time that is spent when `share` of what is left is."""
        return self.spent_share + (1 - SHARE_FOR_CUTS - self.spent_share) * share

    def left(self, share: float) -> Callable[[], float]:
        """Tells the seconds until that share of the time is spent; none when somebody asked to stop."""
        return lambda: 0.0 if self.should_stop() else self.seconds * share - self.spent

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
    orders = range(len(cutter.keys) if len(blocks) <= MOST_FOR_ALL_ORDERS else 1)
    best = min((cutter.first(key) for key in orders), key=lambda f: (len(f.left), f.cost))
    left = [blocks[n] for n in best.left]
    best = Filled(best.sheets, [])
    if seconds > 0:
        best = _searched(
            problem, cutter, best, _bound(blocks, left, boards), watch, _said(on_progress, watch)
        )
    return layout_of(problem, blocks, best.sheets, unfit + left)


def _searched(
    problem: SheetProblem, cutter: Cutter, best: Filled, bound: int, watch: _Watch, say: _Say
) -> Filled:
    """The aims in their order: fewer sheets, then a larger leftover, then fewer cuts."""
    strips, kerf = StripCutter(cutter), problem.kerf_tenths
    best = _fewer_sheets(cutter, strips, best, bound, watch, say)
    best = larger_leftover(cutter, best, kerf, watch.until(watch.further(SHARES_FOR_LEFTOVER[0])))
    best = strips.larger_leftover(best, kerf, watch.left(watch.further(SHARES_FOR_LEFTOVER[1])))
    best = push_leftover(cutter, best, kerf, watch.until(watch.further(SHARES_FOR_LEFTOVER[2])))
    best = strips.fewer_cuts(best, kerf, watch.left(1 - SHARE_FOR_CUTS))
    return cutter.fewer_cuts(best, watch.until(1.0))


def _said(on_progress: Callable[[Progress], None] | None, watch: _Watch) -> _Say:
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
    cutter: Cutter, strips: StripCutter, best: Filled, bound: int, watch: _Watch, say: _Say
) -> Filled:
    """Asks for less cost again and again; with three levels first, then with as many as it takes."""
    for levels, share in ((USUAL_LEVELS, SHARE_FOR_THREE_LEVELS), (ANY_LEVELS, SHARE_FOR_SHEETS)):
        cutter.levels = levels
        is_over = watch.until(share)
        while best.cost > bound and not is_over():
            found = cutter.improve(one_less(cutter, best, levels), best.cost, is_over)
            if found is None:
                break
            best = found
            say(best)
        may_take_strips = levels == USUAL_LEVELS and strips.kinds <= KINDS_A_SECOND * watch.seconds
        if may_take_strips and best.cost > bound:
            best = strips.fewest_sheets(best, watch.left(SHARE_FOR_STRIPS))
            say(best)
    return best
