"""Pieces from lengths of stock: battens, trims, pipe and cable with as few lengths as can be, proven.

Column generation: the LP over ways to cut one length gives a lower bound and good ways; an integer
program over these ways gives the cut list. Source: P. C. Gilmore and R. E. Gomory, "A linear
programming approach to the cutting-stock problem", Operations Research 9 (1961).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from ortools.linear_solver import pywraplp

from .errors import CuttingError
from .measures import MOST_PIECES, require_size

Way = tuple[int, ...]
"""How often each size is cut from one length."""

NEARLY = 1e-6
MOST_STEPS = 50_000


@dataclass(frozen=True, slots=True)
class LengthsCut:
    """`lengths` lists the pieces of each length of stock; `unplaced` are pieces longer than it.

    `bound` is a number of lengths below which no cutting list can be; the list is proven when it
    equals the number of lengths.
    """

    lengths: tuple[tuple[int, ...], ...]
    unplaced: tuple[int, ...]
    bound: int

    @property
    def is_proven(self) -> bool:
        return len(self.lengths) == self.bound


def cut_lengths(
    stock_tenths: int, kerf_tenths: int, pieces: Sequence[int], *, seconds: float = 1.0
) -> LengthsCut:
    """Cuts `pieces` from lengths of `stock_tenths`, each piece whole, with as few lengths as it finds.

    All sizes in whole tenths of a millimetre. Never joins two pieces. A piece longer than the stock
    comes back as unplaced. The solver stops after about `seconds`; the list is whole even then, only
    perhaps not proven. Raises CuttingError for sizes of nothing or less and for too many pieces.
    """
    _require(stock_tenths, kerf_tenths, pieces)
    fitting = sorted((p for p in pieces if p <= stock_tenths), reverse=True)
    unplaced = tuple(p for p in pieces if p > stock_tenths)
    if not fitting:
        return LengthsCut((), unplaced, 0)
    demand = Counter(fitting)
    sizes = sorted(demand, reverse=True)
    wanted = [demand[size] for size in sizes]
    grown = [size + kerf_tenths for size in sizes]
    room = stock_tenths + kerf_tenths
    simple = _first_fit(fitting, kerf_tenths, room)
    ways = {_way_of(length, sizes) for length in simple}
    bound = _generate(grown, wanted, room, ways)
    chosen = simple if len(simple) <= bound else _choose(sizes, wanted, ways, simple, bound, seconds)
    return LengthsCut(tuple(tuple(length) for length in chosen), unplaced, bound)


def _require(stock: int, kerf: int, pieces: Sequence[int]) -> None:
    require_size(stock, subject="stock", field="length")
    if kerf < 0:
        raise CuttingError("kerf can't be negative", subject="saw", field="kerf", value=kerf)
    if len(pieces) > MOST_PIECES:
        raise CuttingError("more than 100,000 pieces", field="pieces")
    for piece in pieces:
        require_size(piece, subject="piece", field="length")


def _first_fit(pieces: Sequence[int], kerf: int, room: int) -> list[list[int]]:
    """First fit, longest first: what a careful person does by hand."""
    lengths: list[list[int]] = []
    left: list[int] = []
    for piece in pieces:
        for n, rest in enumerate(left):
            if piece + kerf <= rest:
                lengths[n].append(piece)
                left[n] -= piece + kerf
                break
        else:
            lengths.append([piece])
            left.append(room - piece - kerf)
    return lengths


def _way_of(length: Sequence[int], sizes: Sequence[int]) -> Way:
    counts = Counter(length)
    return tuple(counts[size] for size in sizes)


def _generate(grown: list[int], wanted: list[int], room: int, ways: set[Way]) -> int:
    """Adds ways until none improves the LP; gives the LP's bound, rounded up."""
    solver = pywraplp.Solver.CreateSolver("GLOP")
    solver.Objective().SetMinimization()
    rows = [solver.Constraint(count, solver.infinity()) for count in wanted]
    for way in sorted(ways):
        _add_column(solver, rows, way)
    divisor = math.gcd(room, *grown)
    small = [size // divisor for size in grown]
    bound: float = 0.0
    while True:
        if solver.Solve() != pywraplp.Solver.OPTIMAL:
            return max(math.ceil(sum(g * w for g, w in zip(grown, wanted, strict=True)) / room), 1)
        prices = [row.dual_value() for row in rows]
        value, way, most = _best_way(small, wanted, room // divisor, prices)
        bound = max(bound, float(solver.Objective().Value()) / max(most, 1.0))
        if value <= 1 + NEARLY or way in ways:
            return math.ceil(bound - NEARLY)
        ways.add(way)
        _add_column(solver, rows, way)


def _add_column(solver: pywraplp.Solver, rows: list[pywraplp.Constraint], way: Way) -> None:
    column = solver.NumVar(0, solver.infinity(), "")
    solver.Objective().SetCoefficient(column, 1)
    for row, count in zip(rows, way, strict=True):
        if count:
            row.SetCoefficient(column, count)


def _best_way(
    sizes: list[int], wanted: list[int], room: int, prices: list[float]
) -> tuple[float, Way, float]:
    """The way to cut one length worth most at these prices: a bounded knapsack by branch and bound.

    Gives its worth, the way, and a worth that no way can exceed: the same unless it took too many steps.
    """
    priced = [n for n, price in enumerate(prices) if price > NEARLY]
    order = sorted(priced, key=lambda n: -prices[n] / sizes[n])
    best_value, best = 0.0, dict.fromkeys(order, 0)
    taken, steps = dict(best), 0

    def go(at: int, left: int, value: float) -> None:
        nonlocal best_value, best, steps
        steps += 1
        if value > best_value + NEARLY:
            best_value, best = value, dict(taken)
        if at == len(order) or steps > MOST_STEPS:
            return
        n = order[at]
        worth = prices[n] / sizes[n]
        for count in range(min(wanted[n], left // sizes[n]), -1, -1):
            rest = left - count * sizes[n]
            nearest = prices[order[at + 1]] / sizes[order[at + 1]] if at + 1 < len(order) else 0.0
            if value + count * prices[n] + rest * min(nearest, worth) <= best_value + NEARLY:
                break
            taken[n] = count
            go(at + 1, rest, value + count * prices[n])
        taken[n] = 0

    go(0, room, 0.0)
    way = tuple(best.get(n, 0) for n in range(len(sizes)))
    loosest = room * prices[order[0]] / sizes[order[0]] if order else 0.0
    return best_value, way, best_value if steps <= MOST_STEPS else loosest


def _choose(
    sizes: list[int], wanted: list[int], ways: set[Way], simple: list[list[int]], bound: int, seconds: float
) -> list[list[int]]:
    """The fewest lengths over the known ways; the simple list where the solver finds nothing better."""
    solver = pywraplp.Solver.CreateSolver("SCIP")
    solver.SetTimeLimit(int(seconds * 1000))
    columns = [(way, solver.IntVar(0, len(simple), "")) for way in sorted(ways)]
    for n, count in enumerate(wanted):
        solver.Add(sum(column * way[n] for way, column in columns if way[n]) >= count)
    total = sum(column for _, column in columns)
    solver.Add(total >= bound)
    solver.Minimize(total)
    if solver.Solve() not in (pywraplp.Solver.OPTIMAL, pywraplp.Solver.FEASIBLE):
        return simple
    if solver.Objective().Value() > len(simple) - 0.5:
        return simple
    left = dict(zip(sizes, wanted, strict=True))
    lengths = []
    for way, column in columns:
        for _ in range(round(column.solution_value())):
            lengths.append(_take(way, sizes, left))
    return [length for length in lengths if length]


def _take(way: Way, sizes: list[int], left: dict[int, int]) -> list[int]:
    """The pieces of a way that are still wanted."""
    length = []
    for size, count in zip(sizes, way, strict=True):
        many = min(count, left[size])
        left[size] -= many
        length += [size] * many
    return length
