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

import numpy as np
from ortools.linear_solver import pywraplp

from .errors import CuttingError
from .measures import MOST_PIECES, require_size
from .pieces import WIDEST_KERF_TENTHS
from .strip_choice import HOW_TO_BRANCH
from .strips import halves

Way = tuple[int, ...]
"""How often each size is cut from one length."""

NEARLY = 1e-6
MOST_STEPS = 50_000
MOST_CELLS = 60_000
SHARE_TO_CHOOSE = 0.4
ALMOST = 0.3
"""A way that the LP takes this little short of whole is taken whole."""


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
    divisor = math.gcd(room, *grown)
    small = [size // divisor for size in grown]
    relaxed = _generate(small, wanted, room // divisor, ways)
    chosen, bound = simple, relaxed.bound
    if len(chosen) > bound:
        chosen = min(chosen, _dive(small, wanted, room // divisor, sizes, ways), key=len)
    if len(chosen) > bound:
        chosen = _choose(sizes, wanted, ways, chosen, bound, seconds * SHARE_TO_CHOOSE)
    return LengthsCut(tuple(tuple(length) for length in chosen), unplaced, bound)


def _require(stock: int, kerf: int, pieces: Sequence[int]) -> None:
    require_size(stock, subject="stock", field="length")
    if not 0 <= kerf <= WIDEST_KERF_TENTHS:
        raise CuttingError("kerf must be between 0 and 100 mm", subject="saw", field="kerf", value=kerf)
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


@dataclass(frozen=True, slots=True)
class _Relaxed:
    """The LP's bound, rounded up, and how often it uses each way."""

    bound: int
    use: dict[Way, float]


def _generate(small: list[int], wanted: list[int], room: int, ways: set[Way]) -> _Relaxed:
    """Adds ways until none improves the LP over them."""
    solver = pywraplp.Solver.CreateSolver("GLOP")
    solver.Objective().SetMinimization()
    rows = [solver.Constraint(count, solver.infinity()) for count in wanted]
    columns = {way: _add_column(solver, rows, way) for way in sorted(ways)}
    bound: float = 0.0
    while True:
        if solver.Solve() != pywraplp.Solver.OPTIMAL:
            area = sum(size * many for size, many in zip(small, wanted, strict=True))
            return _Relaxed(max(math.ceil(area / room), 1), {})
        prices = [row.dual_value() for row in rows]
        value, way, most = _best_way(small, wanted, room, prices)
        bound = max(bound, float(solver.Objective().Value()) / max(most, 1.0))
        if value <= 1 + NEARLY or way in ways:
            use = {way: column.solution_value() for way, column in columns.items()}
            return _Relaxed(math.ceil(bound - NEARLY), use)
        ways.add(way)
        columns[way] = _add_column(solver, rows, way)


def _dive(
    small: list[int], wanted: list[int], room: int, sizes: list[int], ways: set[Way]
) -> list[list[int]]:
    """Takes the ways that the LP nearly takes whole, solves it for what is left, and so on to the end.

    The ways found on the way go into `ways`: they fit what such a list leaves over.
    """
    left, lengths = dict(zip(sizes, wanted, strict=True)), []
    while any(left.values()):
        use = _generate(small, list(left.values()), room, ways).use
        taken = {way: math.floor(many + ALMOST) for way, many in use.items() if many + ALMOST >= 1}
        if not taken and use:
            taken = {max(use, key=lambda way: use[way]): 1}
        cut = [_take(way, sizes, left) for way, many in taken.items() for _ in range(many)]
        lengths += [length for length in cut if length] or [_take(_single(left, sizes), sizes, left)]
    return lengths


def _single(left: dict[int, int], sizes: list[int]) -> Way:
    first = next(size for size in sizes if left[size])
    return tuple(int(size == first) for size in sizes)


def _add_column(solver: pywraplp.Solver, rows: list[pywraplp.Constraint], way: Way) -> pywraplp.Variable:
    column = solver.NumVar(0, solver.infinity(), "")
    solver.Objective().SetCoefficient(column, 1)
    for row, count in zip(rows, way, strict=True):
        if count:
            row.SetCoefficient(column, count)
    return column


def _best_way(
    sizes: list[int], wanted: list[int], room: int, prices: list[float]
) -> tuple[float, Way, float]:
    """The way to cut one length worth most at these prices: a bounded knapsack.

    Gives its worth, the way, and a worth that no way can exceed: the same unless it took too many steps.
    """
    if room <= MOST_CELLS:
        value, way = _by_cells(sizes, wanted, room, prices)
        return value, way, value
    return _by_branching(sizes, wanted, room, prices)


def _by_cells(sizes: list[int], wanted: list[int], room: int, prices: list[float]) -> tuple[float, Way]:
    """By dynamic programming over every length up to `room`."""
    worth, steps = np.zeros(room + 1), []
    for n, (size, price) in enumerate(zip(sizes, prices, strict=True)):
        for many in halves(min(wanted[n], room // size)) if price > NEARLY else ():
            tried = worth[: -size * many] + price * many
            better = tried > worth[size * many :]
            np.copyto(worth[size * many :], tried, where=better)
            steps.append((better, n, many))
    way, left = [0] * len(sizes), room
    for better, n, many in reversed(steps):
        taken = sizes[n] * many
        if left >= taken and better[left - taken]:
            way[n] += many
            left -= taken
    return float(worth[room]), tuple(way)


def _by_branching(
    sizes: list[int], wanted: list[int], room: int, prices: list[float]
) -> tuple[float, Way, float]:
    """By branch and bound, for lengths too long in their steps to look at each."""
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
    solver.SetTimeLimit(max(int(seconds * 1000), 1))
    solver.SetSolverSpecificParametersAsString(HOW_TO_BRANCH)
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
