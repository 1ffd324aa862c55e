"""A sheet divided by edge-to-edge cuts: a tree of boxes, each whole, or cut across into smaller ones."""

from __future__ import annotations

EMPTY, KEPT_FREE = -1, -2
"""What a leaf holds instead of a block: nothing yet, or nothing for good, as the leftover to keep."""

ALONG_X, ALONG_Y = 0, 1


class Box:
    """A rectangle of a sheet. `kids` lie side by side along `axis`; a leaf holds `block` or nothing.

    `depth` counts the levels of cutting above it: cuts in one direction make one level. `laid` is the
    size of the block in it, which may be smaller than the box where no level is left to free the rest.
    """

    __slots__ = ("axis", "block", "depth", "h", "kids", "laid", "up", "w", "x", "y")

    def __init__(self, x: int, y: int, w: int, h: int, depth: int, up: Box | None) -> None:
        self.x, self.y, self.w, self.h = x, y, w, h
        self.depth, self.up = depth, up
        self.kids: list[Box] | None = None
        self.axis = ALONG_X
        self.block = EMPTY
        self.laid = (0, 0)

    def leaves(self) -> list[Box]:
        """The boxes that are not divided, in order. A loop, as this is what the search does most."""
        found, waiting = [], [self]
        while waiting:
            box = waiting.pop()
            kids = box.kids
            if kids is None:
                found.append(box)
            else:
                waiting.extend(reversed(kids))
        return found

    def copy(self, up: Box | None = None) -> Box:
        twin = Box.__new__(Box)
        twin.x, twin.y, twin.w, twin.h = self.x, self.y, self.w, self.h
        twin.depth, twin.up, twin.axis = self.depth, up, self.axis
        twin.block, twin.laid = self.block, self.laid
        kids = self.kids
        twin.kids = None if kids is None else [kid.copy(twin) for kid in kids]
        return twin

    def level_along(self, axis: int) -> int:
        """The level that a cut of this leaf would be in, dividing it along `axis`."""
        up = self.up
        return self.depth if up is not None and up.axis == axis else self.depth + 1

    def divide(self, axis: int, size: int) -> tuple[Box, Box | None]:
        """Cuts this empty leaf after `size` along `axis`: the first piece and the rest, if there is one."""
        whole = self.w if axis == ALONG_X else self.h
        if size == whole:
            return self, None
        up = self.up
        if up is not None and up.axis == axis and up.kids is not None:
            rest = self._rest(axis, size, self.depth, up)
            up.kids.insert(up.kids.index(self) + 1, rest)
            if axis == ALONG_X:
                self.w = size
            else:
                self.h = size
            return self, rest
        w, h = (size, self.h) if axis == ALONG_X else (self.w, size)
        first = Box(self.x, self.y, w, h, self.depth + 1, self)
        rest = self._rest(axis, size, self.depth + 1, self)
        self.axis, self.kids = axis, [first, rest]
        return first, rest

    def _rest(self, axis: int, size: int, depth: int, up: Box) -> Box:
        if axis == ALONG_X:
            return Box(self.x + size, self.y, self.w - size, self.h, depth, up)
        return Box(self.x, self.y + size, self.w, self.h - size, depth, up)

    def clear(self) -> list[int]:
        """Empties this box, joins it with empty neighbours, and gives the blocks that were in it."""
        gone = [leaf.block for leaf in self.leaves() if leaf.block >= 0]
        self.kids, self.block = None, EMPTY
        self._join()
        return gone

    def _join(self) -> None:
        up = self.up
        if up is None or up.kids is None:
            return
        kids = up.kids
        at = kids.index(self)
        first, last = at, at
        while first > 0 and kids[first - 1].is_empty:
            first -= 1
        while last + 1 < len(kids) and kids[last + 1].is_empty:
            last += 1
        if last > first:
            self._take_over(kids[first : last + 1], up.axis)
            kids[first : last + 1] = [self]
        if len(kids) == 1:
            up.kids, up.block = None, EMPTY
            up._join()

    def _take_over(self, joined: list[Box], axis: int) -> None:
        start = joined[0]
        if axis == ALONG_X:
            self.w = sum(box.w for box in joined)
        else:
            self.h = sum(box.h for box in joined)
        self.x, self.y = start.x, start.y

    @property
    def cuts(self) -> int:
        """How many saw cuts free what lies in it, its own edges not counted."""
        if self.kids is not None:
            return len(self.kids) - 1 + sum(kid.cuts for kid in self.kids)
        if self.block < 0:
            return 0
        return (self.laid[0] < self.w) + (self.laid[1] < self.h)

    @property
    def may_be_emptied(self) -> bool:
        """False where a leftover that is to be kept lies in it."""
        if self.kids is None:
            return self.block != KEPT_FREE
        return all(kid.may_be_emptied for kid in self.kids)

    @property
    def is_empty(self) -> bool:
        return self.kids is None and self.block == EMPTY
