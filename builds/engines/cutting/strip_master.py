"""Which strips on which sheets at the least cost, as a linear program that finds its own columns.

Two kinds of columns: strips, and the heights of strips that go on one sheet together. Source: Gilmore and
Gomory, Operations Research 13 (1965), and the two-stage model of A. Lodi, S. Martello and D. Vigo,
"Models and bounds for two-dimensional level packing problems", J. Comb. Optim. 8 (2004), both from memory.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from random import Random

import numpy as np
from ortools.linear_solver import pywraplp

from .blocks import Board
from .strips import Frame, Strip, best_strips, halves, strip_of

NEARLY = 1e-7
FAR_TOO_DEAR = 1000.0
WORTH_KEEPING = 0.9
A_CUT, A_DEAR_CUT = 2e-4, 4e-3
"""What a saw cut counts against a sheet; the dear one only to find more strips with few cuts."""
SPREAD = 0.5

Heights = tuple[tuple[int, int], ...]
"""The heights of strips that go on one sheet together, and how many of each."""


@dataclass
class Pool:
    """The strips and the heights found so far, for each frame.

    `cost` is what the sheets of the linear program cost, once it has found all its columns.
    `taken` are the boards of sheets that are not this pool's to fill: there are so many fewer of them.
    """

    frames: list[Frame]
    demand: list[int]
    taken: Sequence[Board] = ()
    strips: list[dict[object, Strip]] = field(default_factory=list)
    patterns: list[dict[Heights, None]] = field(default_factory=list)
    cost: float | None = None

    def __post_init__(self) -> None:
        self.strips = [{} for _ in self.frames]
        self.patterns = [{} for _ in self.frames]

    def limits(self) -> list[tuple[Board, int]]:
        """The boards of which there are only so many, and how many."""
        boards = {id(frame.board): frame.board for frame in self.frames}.values()
        return [(b, b.count - sum(t is b for t in self.taken)) for b in boards if b.count is not None]


class Master:
    """The linear program over a pool; each turn it is solved and given better columns."""

    def __init__(self, pool: Pool) -> None:
        self.pool = pool
        frames, demand = pool.frames, pool.demand
        solver = self.solver = pywraplp.Solver.CreateSolver("GLOP")
        solver.Objective().SetMinimization()
        self._wanted = [solver.Constraint(many, solver.infinity()) for many in demand]
        self._rooms = [
            {high: solver.Constraint(0, solver.infinity()) for high in frame.heights} for frame in frames
        ]
        self._limits = {
            id(board): solver.Constraint(-solver.infinity(), many) for board, many in pool.limits()
        }
        self._unit = max(max(frame.board.cost for frame in frames), 1)
        self._sheets: list[tuple[pywraplp.Variable, int]] = []
        for row in self._wanted:
            self._column(FAR_TOO_DEAR, [(row, 1)])
        self._begin()

    def _begin(self) -> None:
        """A strip of each shape alone, and a sheet of each height alone."""
        for at, frame in enumerate(self.pool.frames):
            for place in frame.used:
                shape = frame.shapes[place]
                many = min(self.pool.demand[shape.kind], frame.length // shape.along)
                self.add_strip(at, strip_of(frame, [((place, 1),)] * many))
            for high in frame.heights:
                self.add_heights(at, ((high, frame.room // high),))

    def _column(self, cost: float, rows: Sequence[tuple[pywraplp.Constraint, int]]) -> pywraplp.Variable:
        column = self.solver.NumVar(0, self.solver.infinity(), "")
        self.solver.Objective().SetCoefficient(column, cost)
        for row, many in rows:
            row.SetCoefficient(column, many)
        return column

    def add_strip(self, at: int, strip: Strip) -> bool:
        """Takes a strip into the pool; False if it is there already."""
        key = (strip.height, strip.counts)
        known = self.pool.strips[at].get(key)
        if known is not None:
            if strip.cuts < known.cuts:
                self.pool.strips[at][key] = strip
            return False
        self.pool.strips[at][key] = strip
        frame = self.pool.frames[at]
        room = self._rooms[at][frame.height_for(strip.height)]
        self._column(A_CUT * strip.cuts, [(room, -1), *((self._wanted[k], n) for k, n in strip.counts)])
        return True

    def add_heights(self, at: int, heights: Heights) -> bool:
        if heights in self.pool.patterns[at]:
            return False
        self.pool.patterns[at][heights] = None
        frame = self.pool.frames[at]
        rows = [(self._rooms[at][high], many) for high, many in heights]
        if id(frame.board) in self._limits:
            rows.append((self._limits[id(frame.board)], 1))
        self._sheets.append((self._column(frame.board.cost / self._unit, rows), frame.board.cost))
        return True

    def _prices(self) -> tuple[list[float], list[dict[int, float]], list[float]]:
        """What a block of each kind is worth, what a strip of each height costs, what a sheet costs."""
        prices = [row.dual_value() for row in self._wanted]
        rooms = [{high: max(row.dual_value(), 0.0) for high, row in rows.items()} for rows in self._rooms]
        costs = []
        for frame in self.pool.frames:
            limit = self._limits.get(id(frame.board))
            costs.append(frame.board.cost / self._unit - (limit.dual_value() if limit is not None else 0.0))
        return prices, rooms, costs

    def turn(self) -> bool:
        """One round of new columns; False when there are none."""
        self.solver.Solve()
        found = False
        prices, all_rooms, costs = self._prices()
        for at, frame in enumerate(self.pool.frames):
            for worth, strip in best_strips(frame, prices, self.pool.demand, A_CUT):
                if worth > all_rooms[at][frame.height_for(strip.height)] + NEARLY:
                    found |= self.add_strip(at, strip)
            worth, heights = best_heights(frame, all_rooms[at])
            if worth > costs[at] + NEARLY:
                found |= self.add_heights(at, heights)
        if not found:
            self.pool.cost = sum(column.solution_value() * cost for column, cost in self._sheets)
        return found

    def widen(self, chance: Random) -> None:
        """More strips and heights near the best ones, at prices moved a little either way."""
        self.solver.Solve()
        prices, all_rooms, _ = self._prices()
        moved_prices = [price * _moved(chance) for price in prices]
        demand = [
            chance.randint(min(many, 1), many) if chance.random() < 0.5 else many for many in self.pool.demand
        ]
        cut_price = chance.choice((A_CUT, A_DEAR_CUT))
        for at, frame in enumerate(self.pool.frames):
            rooms = all_rooms[at]
            for _, strip in best_strips(frame, moved_prices, demand, cut_price):
                worth = sum(prices[kind] * many for kind, many in strip.counts)
                if worth > rooms[frame.height_for(strip.height)] * WORTH_KEEPING:
                    self.add_strip(at, strip)
            moved = {high: (room + 1e-3 * high / frame.room) * _moved(chance) for high, room in rooms.items()}
            self.add_heights(at, best_heights(frame, moved)[1])


def _moved(chance: Random) -> float:
    return 1 + SPREAD * (chance.random() - 0.5)


def best_heights(frame: Frame, worth: dict[int, float]) -> tuple[float, Heights]:
    """The heights that fill a sheet's room with the most worth: a knapsack, each as often as fits."""
    best, steps = np.zeros(frame.room + 1), []
    for high, value in worth.items():
        if value > NEARLY:
            for many in halves(frame.room // high):
                tried = best[: -high * many] + value * many
                better = tried > best[high * many :] + NEARLY
                np.copyto(best[high * many :], tried, where=better)
                steps.append((better, high, many))
    counts: Counter[int] = Counter()
    room = frame.room
    for better, high, many in reversed(steps):
        if room >= high * many and better[room - high * many]:
            counts[high] += many
            room -= high * many
    return float(best[-1]), tuple(sorted(counts.items()))


def fill_pool(
    pool: Pool,
    known: Sequence[dict[object, Strip]],
    chance: Random,
    widen: int,
    is_over: Callable[[], bool],
) -> None:
    """Finds all the columns that the bound takes, or as many as there is time for, and some more.

    Begins with the strips that are `known` for each frame and hold no more than is asked for; keeps there
    what it finds.
    """
    master = Master(pool)
    for at, strips in enumerate(known):
        for strip in strips.values():
            heights = pool.frames[at].heights
            fits = bool(heights) and strip.height <= heights[-1]
            if fits and all(many <= pool.demand[kind] for kind, many in strip.counts):
                master.add_strip(at, strip)
    while not is_over() and master.turn():
        pass
    for _ in range(widen):
        if is_over():
            break
        master.widen(chance)
    for at, strips in enumerate(known):
        strips.update(pool.strips[at])
