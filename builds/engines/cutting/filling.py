"""Lays blocks into the empty boxes of sheets, each where the empty rest stays most of one piece."""

from __future__ import annotations

from random import Random

from .blocks import Board
from .boxes import ALONG_X, ALONG_Y, EMPTY, KEPT_FREE, Box

Sizes = tuple[tuple[int, int], ...]
Hole = tuple[int, int, float, bool, bool, bool, bool, Box]
Found = tuple[float, Hole | None, tuple[int, int], int]


class Sheet:
    """One sheet being filled: its board, its tree of boxes, and the holes worth looking at.

    `known` remembers the best hole for sizes asked for since the sheet last changed.
    """

    __slots__ = ("board", "holes", "known", "least", "levels", "root")

    def __init__(self, board: Board, least: int, levels: int) -> None:
        """`least` is the shortest side of any block, `levels` how many levels of cuts there may be."""
        self.board, self.least, self.levels = board, least, levels
        self.root = Box(0, 0, board.length, board.width, 0, None)
        self.holes = [self._hole(self.root)]
        self.known: dict[Sizes, Found] = {}

    def keep_free(self, axis: int, size: int) -> None:
        """Keeps the last `size` of this empty sheet along `axis` free, as its leftover."""
        whole = self.root.w if axis == ALONG_X else self.root.h
        _, rest = self.root.divide(axis, whole - size)
        if rest is not None:
            rest.block = KEPT_FREE
        self.look_for_holes()

    @property
    def blocks(self) -> list[int]:
        return [leaf.block for leaf in self.root.leaves() if leaf.block >= 0]

    def copy(self, *, with_holes: bool = True) -> Sheet:
        twin = Sheet.__new__(Sheet)
        twin.board, twin.least, twin.levels = self.board, self.least, self.levels
        twin.root = self.root.copy()
        twin.holes, twin.known = [], {}
        if with_holes:
            twin.look_for_holes()
        return twin

    def look_for_holes(self) -> None:
        least = self.least
        self.known = {}
        self.holes = [
            self._hole(leaf)
            for leaf in self.root.leaves()
            if leaf.block == EMPTY and leaf.w >= least and leaf.h >= least
        ]

    def _hole(self, box: Box) -> Hole:
        """Size and area, and which cuts its level still allows: along x, then y in it; along y, then x."""
        w, h = box.w, box.h
        along_x, along_y = box.level_along(ALONG_X), box.level_along(ALONG_Y)
        levels = self.levels
        return (
            w, h, float(w * h),
            along_x <= levels, along_x < levels, along_y <= levels, along_y < levels, box,
        )  # fmt: skip

    def lay(self, block: int, size: tuple[int, int], hole: Hole, first: int) -> None:
        """Lays a block of `size` into `hole`, cut off along the axis `first` and then along the other."""
        box = hole[7]
        self.known = {}
        self.holes.remove(hole)
        for axis in (first, 1 - first):
            if box.level_along(axis) <= self.levels:
                box, rest = box.divide(axis, size[axis])
                if rest is not None and rest.w >= self.least and rest.h >= self.least:
                    self.holes.append(self._hole(rest))
        box.block, box.laid = block, size


def best_hole(sheet: Sheet, sizes: Sizes) -> Found:
    """Where a block of these sizes spoils the least: loss, hole, size as laid, axis of the first cut.

    The loss is the square of the hole's area less the squares of what stays empty and usable.
    """
    best, at, laid, axis = 1e99, None, (0, 0), ALONG_X
    for w, h in sizes:
        for hole in sheet.holes:
            hole_w, hole_h, area, x_ok, xy_ok, y_ok, yx_ok, _ = hole
            if w > hole_w or h > hole_h:
                continue
            over_w, over_h = hole_w - w, hole_h - h
            if x_ok or not over_w:
                side = float(over_w * hole_h)
                end = float(over_h * w) if (xy_ok if over_w else y_ok) else 0.0
                loss = area * area - side * side - end * end
                if loss < best:
                    best, at, laid, axis = loss, hole, (w, h), ALONG_X
            if y_ok or not over_h:
                side = float(over_h * hole_w)
                end = float(over_w * h) if (yx_ok if over_h else x_ok) else 0.0
                loss = area * area - side * side - end * end
                if loss < best:
                    best, at, laid, axis = loss, hole, (w, h), ALONG_Y
            if not (x_ok or y_ok) and area * area < best:
                best, at, laid, axis = area * area, hole, (w, h), ALONG_X
    return best, at, laid, axis


def lay_best(
    sheets: list[Sheet], own: set[int], block: int, sizes: Sizes, chance: Random, blink: float
) -> bool:
    """Lays a block where it spoils the least over all `sheets`; False when it fits nowhere.

    Sheets whose place is not in `own` belong to an earlier try too: such a one is copied before it is
    changed. With the chance `blink` a sheet is overlooked, so that tries differ.
    """
    best, found = 1e99, None
    for place, sheet in enumerate(sheets):
        if blink and chance.random() < blink:
            continue
        answer = sheet.known.get(sizes)
        if answer is None:
            answer = sheet.known[sizes] = best_hole(sheet, sizes)
        loss, hole, size, axis = answer
        if hole is not None and loss < best:
            best, found = loss, (place, hole, size, axis)
    if found is None:
        return False
    place, hole, size, axis = found
    if place not in own:
        own.add(place)
        sheets[place] = sheets[place].copy()
        _, hole, size, axis = best_hole(sheets[place], sizes)
        assert hole is not None
    sheets[place].lay(block, size, hole, axis)
    return True
