"""What the sheet cutter places: parts and whole runs of parts as blocks, a kerf added on two sides.

A block that is a kerf longer and wider may touch its neighbours, so the cutter needs to know of no
kerf; the trimmed sheet grows by the same kerf, as nothing has to be cut off beyond its last edge.
"""

from __future__ import annotations

from dataclasses import dataclass

from .pieces import SheetProblem, StockSheet


@dataclass(frozen=True, slots=True)
class Block:
    """One part, or the parts of one run side by side along x. `sizes` are the ways it may lie."""

    keys: tuple[str, ...]
    lengths: tuple[int, ...]
    sizes: tuple[tuple[int, int], ...]

    @property
    def area(self) -> int:
        return self.sizes[0][0] * self.sizes[0][1]


@dataclass(frozen=True, slots=True)
class Board:
    """A kind of sheet as the cutter sees it: grown size inside the trims, cost, how many there are."""

    stock: StockSheet
    length: int
    width: int
    cost: int
    count: int | None


def blocks_of(problem: SheetProblem) -> list[Block]:
    """Every piece to place, each for itself: runs as one block, other parts one by one."""
    kerf, parts = problem.kerf_tenths, problem.part_by_key
    in_runs = {key for run in problem.runs for key in run}
    found = []
    for run in problem.runs:
        lengths = tuple(parts[key].length_tenths for key in run)
        size = (sum(lengths) + kerf * len(run), parts[run[0]].width_tenths + kerf)
        found += [Block(run, lengths, (size,))] * problem.run_times(run)
    for part in problem.parts:
        if part.key not in in_runs:
            length, width = part.length_tenths + kerf, part.width_tenths + kerf
            turned = ((width, length),) if part.may_turn and width != length else ()
            block = Block((part.key,), (part.length_tenths,), ((length, width), *turned))
            found += [block] * part.count
    return found


def boards_of(problem: SheetProblem) -> list[Board]:
    """The sheets there are to cut from, the cheapest by area first; costs as whole ten-thousandths."""
    boards = []
    for stock in problem.stock:
        if stock.count == 0:
            continue
        length, width = problem.usable_size(stock)
        kerf = problem.kerf_tenths
        boards.append(Board(stock, length + kerf, width + kerf, int(stock.cost * 10_000), stock.count))
    return sorted(boards, key=lambda b: (b.cost / (b.length * b.width), not b.stock.is_offcut, -b.length))


def fits(block: Block, board: Board) -> bool:
    return any(w <= board.length and h <= board.width for w, h in block.sizes)
