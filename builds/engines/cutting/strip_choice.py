"""Whole strips on whole sheets, chosen from a pool: the fewest sheets, the largest leftover, the fewest cuts.

They are integer programs over the columns that the linear program found, so what they find is good, not
proven. The heights of strips on a sheet are columns of their own; no sheet is named twice in another order.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from ortools.linear_solver import pywraplp

from .strip_master import Pool
from .strips import Frame, Strip

What = TypeVar("What")
SOLVED = (pywraplp.Solver.OPTIMAL, pywraplp.Solver.FEASIBLE)
HOW_TO_BRANCH = """separating/maxrounds = 0
separating/maxroundsroot = 0
branching/inference/priority = 1000000
timing/clocktype = 1
"""
"""No cutting planes, branching by what follows: in a second it found far more than as it comes.

Its seconds are the processor's: what else the machine does takes nothing from it.
"""
NODES_A_SECOND = 1500
"""An ordinary program is stopped by them and not by the clock, so that the same seed finds the same."""
LEAST_CLOCK = 0.5
"""Seconds that even a short program may take before the clock stops it, on a machine that is slow today."""
A_CUT = 1e-4
"""What a saw cut weighs against a step of leftover: it decides among leftovers of one size only."""


@dataclass(frozen=True, slots=True)
class Corner:
    """Where the leftover of the last sheet lies: in the strip behind the others, on a frame, by place.

    It takes the whole length but `width` steps, in which a pile of pieces may lie beside it.
    """

    frame: int
    width: int


@dataclass(frozen=True, slots=True)
class Stacked:
    """One sheet: strips from its corner on, and beside its leftover a pile of shapes, by place."""

    frame: Frame
    strips: tuple[Strip, ...]
    beside: tuple[int, ...] = ()


class Choice:
    """The integer program: how often each strip and each set of heights is used."""

    def __init__(self, pool: Pool, seconds: float) -> None:
        self.pool = pool
        solver = self.solver = pywraplp.Solver.CreateSolver("SCIP")
        solver.SetTimeLimit(int(max(2 * seconds, LEAST_CLOCK) * 1000))
        nodes = f"limits/totalnodes = {max(int(seconds * NODES_A_SECOND), 1)}\n"
        solver.SetSolverSpecificParametersAsString(HOW_TO_BRANCH + nodes)
        self.strips = [
            [(strip, solver.IntVar(0, _most(strip, pool.demand), "")) for strip in found.values()]
            for found in pool.strips
        ]
        most = sum(pool.demand)
        self.heights = [[(h, solver.IntVar(0, most, "")) for h in found] for found in pool.patterns]
        self.wanted = [solver.Constraint(many, solver.infinity()) for many in pool.demand]
        for rows in self.strips:
            for strip, column in rows:
                for kind, many in strip.counts:
                    self.wanted[kind].SetCoefficient(column, many)
        self.rooms = [self._room_rows(at) for at in range(len(pool.frames))]
        self.limits = self._limit_boards()
        self.last: dict[int, pywraplp.Variable] = {}
        self.beside: dict[int, pywraplp.Variable] = {}

    def _room_rows(self, at: int) -> dict[int, pywraplp.Constraint]:
        """For each height: strips as high or higher need as many places as high or higher."""
        frame, rows = self.pool.frames[at], {}
        for high in frame.heights:
            row = rows[high] = self.solver.Constraint(0, self.solver.infinity())
            for heights, column in self.heights[at]:
                places = sum(many for place, many in heights if place >= high)
                if places:
                    row.SetCoefficient(column, places)
            for strip, column in self.strips[at]:
                if frame.height_for(strip.height) >= high:
                    row.SetCoefficient(column, -1)
        return rows

    def _limit_boards(self) -> dict[int, pywraplp.Constraint]:
        rows = {}
        for board, many in self.pool.limits():
            row = rows[id(board)] = self.solver.Constraint(-self.solver.infinity(), many)
            for frame, columns in zip(self.pool.frames, self.heights, strict=True):
                for _, column in columns if frame.board is board else ():
                    row.SetCoefficient(column, 1)
        return rows

    def fewest_sheets(self, cost_below: int) -> list[Stacked] | None:
        """Sheets that cost less than `cost_below`, or None when none are found in the time."""
        self.solver.Add(self._cost() <= cost_below - 1)
        self.solver.Minimize(self._cost())
        return self._stacked(None) if self.solver.Solve() in SOLVED else None

    def fewest_cuts(self, cost: int) -> list[Stacked] | None:
        """Sheets that cost `cost` at most, cut with as few saw cuts as was found in the time."""
        self.solver.Add(self._cost() <= cost)
        self.solver.Minimize(self._cuts())
        return self._stacked(None) if self.solver.Solve() in SOLVED else None

    def largest_leftover(
        self, cost: int, corner: Corner, least: int, *, cuts_first: bool = False
    ) -> list[Stacked] | None:
        """Sheets that cost `cost` at most, with a leftover at `corner` of `least` steps or more.

        It is as wide across the strips as was found in the time, or with `cuts_first` cut with as few cuts;
        None when nothing was found.
        """
        rest = self._open_last(corner, least)
        board = self.pool.frames[corner.frame].board
        self.solver.Add(self._cost() <= cost - board.cost)
        self.solver.Maximize((0.0 if cuts_first else 1.0) * rest - A_CUT * self._cuts())
        return self._stacked(corner.frame) if self.solver.Solve() in SOLVED else None

    def _open_last(self, corner: Corner, least: int) -> pywraplp.Variable:
        """Adds the sheet with the leftover: its strips, the pile beside the leftover, and what is left."""
        solver, frame = self.solver, self.pool.frames[corner.frame]
        self.last = {high: solver.IntVar(0, frame.room // high, "") for high in frame.heights}
        for high, row in self.rooms[corner.frame].items():
            for place, column in self.last.items():
                if place >= high:
                    row.SetCoefficient(column, 1)
        rest = solver.NumVar(least, frame.room, "")
        solver.Add(solver.Sum([high * column for high, column in self.last.items()]) + rest <= frame.room)
        for place, shape in enumerate(frame.shapes):
            if shape.along <= corner.width:
                column = self.beside[place] = solver.IntVar(0, self.pool.demand[shape.kind], "")
                self.wanted[shape.kind].SetCoefficient(column, 1)
        solver.Add(solver.Sum([frame.shapes[p].across * c for p, c in self.beside.items()]) <= rest)
        limit = self.limits.get(id(frame.board))
        if limit is not None:
            limit.SetUb(limit.ub() - 1)
        return rest

    def _cuts(self) -> pywraplp.LinearExpr:
        cuts = [column * strip.cuts for columns in self.strips for strip, column in columns]
        return self.solver.Sum([*cuts, *(2 * column for column in self.beside.values())])

    def _cost(self) -> pywraplp.LinearExpr:
        costs = []
        for frame, columns in zip(self.pool.frames, self.heights, strict=True):
            costs += [column * frame.board.cost for _, column in columns]
        return self.solver.Sum(costs)

    def _stacked(self, last: int | None) -> list[Stacked]:
        """The sheets of a solution; the one with the leftover comes last."""
        sheets: list[Stacked] = []
        for at, frame in enumerate(self.pool.frames):
            waiting = sorted(_taken(self.strips[at]), key=lambda strip: -strip.height)
            stacks = [
                [high for high, many in heights for _ in range(many)] for heights in _taken(self.heights[at])
            ]
            if at == last:
                stacks.append([high for high, column in self.last.items() for _ in range(_times(column))])
            filled = _into_places(waiting, stacks)
            beside: tuple[int, ...] = ()
            if at == last:
                beside = tuple(place for place, column in self.beside.items() for _ in range(_times(column)))
                final = Stacked(frame, filled.pop(), beside)
            sheets += [Stacked(frame, strips) for strips in filled if strips]
        return sheets if last is None else [*sheets, final]


def _most(strip: Strip, demand: Sequence[int]) -> int:
    return max(-(-demand[kind] // many) for kind, many in strip.counts)


def _times(column: pywraplp.Variable) -> int:
    return round(float(column.solution_value()))


def _taken(columns: Sequence[tuple[What, pywraplp.Variable]]) -> Iterator[What]:
    for what, column in columns:
        for _ in range(_times(column)):
            yield what


def _into_places(strips: Sequence[Strip], stacks: Sequence[Sequence[int]]) -> list[tuple[Strip, ...]]:
    """High strips into high places: each strip finds one at least as high, as the program saw to it."""
    places = [(-high, n) for n, stack in enumerate(stacks) for high in stack]
    heapq.heapify(places)
    filled: list[list[Strip]] = [[] for _ in stacks]
    for strip in strips:
        filled[heapq.heappop(places)[1]].append(strip)
    return [tuple(strips) for strips in filled]
