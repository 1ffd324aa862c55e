"""Lays some sheets of a layout out anew from whole strips: for fewer sheets, a larger leftover, fewer cuts.

One kind of step for all three: the blocks of some sheets, the rest as it is, an integer program over the
strips found so far (a large neighbourhood search, after P. Shaw, CP 1998, from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import chain, combinations

from .filling import Sheet
from .leftover import largest_rest
from .search import Cutter, Filled
from .strip_choice import Choice, Corner, Stacked
from .strip_master import Pool, fill_pool
from .strip_sheets import Sawyer
from .strips import Strip, frames_of, kinds_of

NEARLY = 1e-6
LEAST_SECONDS = 0.05
SECONDS_A_PROGRAM, LONGEST_PROGRAM = 0.3, 10.0
"""A program hears of no stop, so none may take long."""
LARGEST = 50_000_000
"""Of a frame: beyond that a round of strips takes too long and too much memory."""
TOGETHER, MOST_OTHERS = 2, 30
"""How many sheets are laid out anew beside the one with the leftover, and out of how many they are drawn."""
WIDER = 6

Members = list[list[int]]
Left = Callable[[], float]
"""How many seconds are left."""


class StripCutter:
    """The strip method over all of a cutter's blocks. Strips once found are kept for later steps."""

    def __init__(self, cutter: Cutter) -> None:
        self.cutter = cutter
        kinds, members = kinds_of(cutter.blocks)
        self.kind_of = {block: kind for kind, blocks in enumerate(members) for block in blocks}
        self.kinds = len(kinds)
        self.frames = frames_of(kinds, cutter.boards)
        self.known: list[dict[object, Strip]] = [{} for _ in self.frames]

    def fewest_sheets(self, best: Filled, seconds: Left) -> Filled:
        """All sheets anew if that costs less: half of the seconds to find strips, the rest to choose."""
        half = seconds() / 2
        pool, members = self._pool(best.sheets, [], lambda: seconds() <= half)
        if pool.cost is None or pool.cost > best.cost - 1 + NEARLY or seconds() < LEAST_SECONDS:
            return best
        chosen = Choice(pool, min(seconds(), LONGEST_PROGRAM)).fewest_sheets(best.cost)
        return best if chosen is None else Filled(self._sheets(chosen, members), [])

    def larger_leftover(self, best: Filled, kerf: int, seconds: Left) -> Filled:
        """The sheet with the leftover and some others anew, again and again while that leaves more."""
        while True:
            for some, others in self._groups(best, kerf):
                if seconds() < LEAST_SECONDS:
                    return best
                found = self._larger(some, others, kerf, seconds)
                if found is not None:
                    best = Filled([*others, *found], [])
                    break
            else:
                return best

    def fewer_cuts(self, best: Filled, kerf: int, seconds: Left) -> Filled:
        """Each sheet anew, then pairs of them, with fewer cuts and the leftover as it is."""
        last = _with_leftover(best, kerf)
        gone: set[int] = set()
        for some in chain(combinations(best.sheets, 1), combinations(best.sheets, 2)):
            if seconds() < LEAST_SECONDS:
                break
            if gone & {id(sheet) for sheet in some}:
                continue
            others = [sheet for sheet in best.sheets if all(sheet is not other for other in some)]
            leftover = largest_rest(best, kerf) if any(sheet is last for sheet in some) else 0
            found = self._fewer_cuts(some, others, kerf, leftover, seconds)
            if found is not None:
                gone |= {id(sheet) for sheet in some}
                best = Filled([*others, *found], [])
        return best

    def _groups(self, best: Filled, kerf: int) -> Iterator[tuple[list[Sheet], list[Sheet]]]:
        last = _with_leftover(best, kerf)
        rest = sorted((s for s in best.sheets if s is not last), key=self._area)
        pairs = list(combinations(rest[:MOST_OTHERS], min(TOGETHER, len(rest))))
        self.cutter.chance.shuffle(pairs)
        for pair in pairs:
            yield [last, *pair], [sheet for sheet in rest if all(sheet is not other for other in pair)]

    def _area(self, sheet: Sheet) -> int:
        return sum(self.cutter.areas[block] for block in sheet.blocks)

    def _larger(self, some: list[Sheet], others: list[Sheet], kerf: int, seconds: Left) -> list[Sheet] | None:
        pool, members = self._pool(some, others, lambda: seconds() < LEAST_SECONDS)
        best, cost = None, sum(sheet.board.cost for sheet in some)
        larger_than = largest_rest(Filled([*some, *others], []), kerf)
        for corner in self._corners(pool, beside=not others):
            least = _least(pool, corner, kerf, larger_than + 1)
            if least is None or seconds() < LEAST_SECONDS:
                continue
            program = Choice(pool, min(seconds(), SECONDS_A_PROGRAM))
            chosen = program.largest_leftover(cost, corner, least)
            sheets = self._sheets(chosen, members, keeps_rest=True) if chosen is not None else []
            found = largest_rest(Filled(sheets, []), kerf)
            if found > larger_than:
                best, larger_than = sheets, found
        return best

    def _fewer_cuts(
        self, some: Sequence[Sheet], others: list[Sheet], kerf: int, leftover: int, seconds: Left
    ) -> list[Sheet] | None:
        pool, members = self._pool(some, others, lambda: seconds() < LEAST_SECONDS)
        best, cost = None, sum(sheet.board.cost for sheet in some)
        cuts = cuts_of(some)
        for corner in self._corners(pool, beside=False) if leftover else [None]:
            if seconds() < LEAST_SECONDS:
                break
            program = Choice(pool, min(seconds(), SECONDS_A_PROGRAM))
            if corner is None:
                chosen = program.fewest_cuts(cost)
            elif (least := _least(pool, corner, kerf, leftover)) is not None:
                chosen = program.largest_leftover(cost, corner, least, cuts_first=True)
            else:
                continue
            sheets = self._sheets(chosen, members, keeps_rest=leftover > 0) if chosen is not None else None
            if sheets is not None and cuts_of(sheets) < cuts:
                best, cuts = sheets, cuts_of(sheets)
        return best

    def _pool(
        self, some: Sequence[Sheet], others: Sequence[Sheet], is_over: Callable[[], bool]
    ) -> tuple[Pool, Members]:
        """Strips for the blocks of some sheets, and these blocks by kind."""
        members: Members = [[] for _ in range(self.kinds)]
        for sheet in some:
            for block in sheet.blocks:
                members[self.kind_of[block]].append(block)
        demand = [len(blocks) for blocks in members]
        frames = [frame.only(demand) for frame in self.frames]
        pool = Pool(frames, demand, [sheet.board for sheet in others])
        if max((frame.size for frame in frames), default=LARGEST) < LARGEST:
            fill_pool(pool, self.known, self.cutter.chance, WIDER, is_over)
        return pool, members

    def _corners(self, pool: Pool, *, beside: bool) -> list[Corner]:
        """Each frame with the leftover over the whole length; then, if asked, with something beside it."""
        frames = list(enumerate(pool.frames))
        whole = [Corner(at, 0) for at, _ in frames]
        if not beside:
            return whole
        wanted = {kind for kind, many in enumerate(pool.demand) if many}
        widths = [sorted({s.along for s in frame.shapes if s.kind in wanted}) for _, frame in frames]
        return whole + [Corner(at, width) for at, _ in frames for width in widths[at]]

    def _sheets(
        self, chosen: Sequence[Stacked], members: Members, *, keeps_rest: bool = False
    ) -> list[Sheet]:
        sawyer, last = Sawyer(members, self.cutter.least, self.cutter.levels), len(chosen) - 1
        sheets = [
            sawyer.sheet(stacked, keeps_rest=keeps_rest and n == last) for n, stacked in enumerate(chosen)
        ]
        return [sheet for sheet in sheets if sheet.blocks]


def _with_leftover(best: Filled, kerf: int) -> Sheet:
    return max(best.sheets, key=lambda sheet: largest_rest(Filled([sheet], []), kerf))


def _least(pool: Pool, corner: Corner, kerf: int, area: int) -> int | None:
    """How many steps across a leftover of that area has at a corner; None where there is no room for it."""
    frame = pool.frames[corner.frame]
    long = (frame.length - corner.width) * frame.step - kerf
    if long <= 0:
        return None
    least = -(-(-(-area // long) + kerf) // frame.step)
    return least if least <= frame.room else None


def cuts_of(sheets: Sequence[Sheet]) -> int:
    """Saw cuts of some sheets."""
    return sum(sheet.root.cuts for sheet in sheets)
