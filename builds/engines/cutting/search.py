"""Looks for a layout of fewer sheets: takes some blocks out, lays them again, keeps what is no worse.

After S. Gardeyn and T. Wauters, "A goal-driven ruin and recreate heuristic for the 2D variable-sized
bin packing problem with guillotine constraints", EJOR 301 (2022), from memory; the acceptance rule is
late acceptance (Burke and Bykov, EJOR 258 (2017), from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from random import Random

from .blocks import Block, Board, fits
from .boxes import Box
from .filling import Sheet, lay_best

BLINK = 0.01
MEMORY = 30


@dataclass(frozen=True)
class Filled:
    """Sheets with the blocks laid in them, and the places in `blocks` of those that found none."""

    sheets: list[Sheet]
    left: list[int]

    @property
    def cost(self) -> int:
        return sum(sheet.board.cost for sheet in self.sheets)


class Cutter:
    """Fills sheets with one list of blocks; all randomness comes from `chance`."""

    def __init__(self, blocks: Sequence[Block], boards: Sequence[Board], levels: int, chance: Random) -> None:
        self.blocks, self.boards, self.levels, self.chance = blocks, boards, levels, chance
        self.sizes = [block.sizes for block in blocks]
        self.areas = [block.area for block in blocks]
        self.least = min((min(size) for sizes in self.sizes for size in sizes), default=1)
        longest = [max(sizes[0]) for sizes in self.sizes]
        self.keys: list[list[float]] = [
            [float(area) for area in self.areas],
            [float(side) for side in longest],
            [float(side) + area / 1e12 for side, area in zip(longest, self.areas, strict=True)],
            [float(min(sizes[0])) for sizes in self.sizes],
        ]

    def first(self, key: int = 0) -> Filled:
        """A layout straight down one order, as many sheets as it takes."""
        order = sorted(range(len(self.blocks)), key=lambda b: -self.keys[key][b])
        return self.fill([], order, limit=None)

    def fill(self, sheets: list[Sheet], order: Sequence[int], limit: int | None) -> Filled:
        """Lays blocks in order, opening sheets while their cost stays below `limit`."""
        own, left, failed = set(range(len(sheets))), [], set()
        for block in order:
            sizes = self.sizes[block]
            if sizes in failed or not self._lay(sheets, own, block, limit, 0.0):
                failed.add(sizes)
                left.append(block)
        return Filled(sheets, left)

    def _lay(self, sheets: list[Sheet], own: set[int], block: int, limit: int | None, blink: float) -> bool:
        sizes = self.sizes[block]
        if lay_best(sheets, own, block, sizes, self.chance, blink):
            return True
        board = self._new_board(sheets, block, limit)
        if board is None:
            return False
        sheets.append(Sheet(board, self.least, self.levels))
        own.add(len(sheets) - 1)
        return lay_best(sheets[-1:], {0}, block, sizes, self.chance, 0.0)

    def _new_board(self, sheets: list[Sheet], block: int, limit: int | None) -> Board | None:
        spent = sum(sheet.board.cost for sheet in sheets)
        open_to = [
            board
            for board in self.boards
            if (limit is None or spent + board.cost < limit)
            and fits(self.blocks[block], board)
            and (board.count is None or sum(s.board is board for s in sheets) < board.count)
        ]
        if not open_to or limit is None or len(open_to) == 1:
            return open_to[0] if open_to else None
        return self.chance.choice(open_to)

    def improve(self, start: Filled, limit: int, is_over: Callable[[], bool]) -> Filled | None:
        """Tries to lay every block at a cost below `limit`; None when the time is over before.

        `start.sheets` are already within the limit; `start.left` waits to be laid.
        """
        now, remembered, turn = start, [self._area(start.left)] * MEMORY, 0
        current = remembered[0]
        while now.left:
            if is_over():
                return None
            new = self.again(now, limit)
            area = self._area(new.left)
            if area <= current or area <= remembered[turn % MEMORY]:
                now, current = new, area
            remembered[turn % MEMORY] = current
            turn += 1
        return now

    def fewer_cuts(self, start: Filled, is_over: Callable[[], bool]) -> Filled:
        """The same sheets and kept leftovers with as few saw cuts as the time allows to find."""
        best, now, limit = start, start, start.cost
        current = fewest = sum(sheet.root.cuts for sheet in start.sheets)
        remembered, turn = [current] * MEMORY, 0
        while not is_over():
            new = self.again(now, limit)
            if not new.left:
                cuts = sum(sheet.root.cuts for sheet in new.sheets)
                if cuts <= current or cuts <= remembered[turn % MEMORY]:
                    now, current = new, cuts
                    if cuts < fewest:
                        best, fewest = new, cuts
            remembered[turn % MEMORY] = current
            turn += 1
        return best

    def _area(self, blocks: Sequence[int]) -> int:
        return sum(self.areas[block] for block in blocks)

    def again(self, now: Filled, limit: int) -> Filled:
        """A neighbour: some boxes emptied, their blocks and those left over laid in a new order."""
        chance = self.chance
        sheets, own = list(now.sheets), set()
        loose = list(now.left)
        want = 1 + int(chance.random() ** 2 * max(4, min(24, len(self.blocks) // 6)))
        start = len(loose)
        for _ in range(want if sheets else 0):
            if len(loose) - start >= want:
                break
            place = chance.randrange(len(sheets))
            if place not in own:
                own.add(place)
                sheets[place] = sheets[place].copy(with_holes=False)
            loose += self._take_out(sheets[place].root)
        for place in own:
            sheets[place].look_for_holes()
        if len(self.boards) > 1:
            kept = [place for place, sheet in enumerate(sheets) if not sheet.root.is_empty]
            own = {n for n, place in enumerate(kept) if place in own}
            sheets = [sheets[place] for place in kept]
        left, failed = [], set()
        for block in self._order(loose):
            if self.sizes[block] in failed or not self._lay(sheets, own, block, limit, BLINK):
                failed.add(self.sizes[block])
                left.append(block)
        return Filled(sheets, left)

    def _take_out(self, root: Box) -> list[int]:
        """Empties one box around a block drawn at random."""
        laid = [leaf for leaf in root.leaves() if leaf.block >= 0]
        if not laid:
            return []
        box = self.chance.choice(laid)
        while box.up is not None and box.up.may_be_emptied and self.chance.random() < 0.5:
            box = box.up
        return box.clear()

    def _order(self, blocks: list[int]) -> list[int]:
        """The blocks, large ones first, about; in half the tries those of one size stay together."""
        chance = self.chance
        key = self.keys[chance.randrange(len(self.keys))]
        spread = chance.random() * 0.6
        alike = chance.random() < 0.5
        noise: dict[object, float] = {}
        for block in blocks:
            noise.setdefault(self.sizes[block] if alike else block, 1 + spread * (chance.random() - 0.5))
        return sorted(blocks, key=lambda block: -key[block] * noise[self.sizes[block] if alike else block])
