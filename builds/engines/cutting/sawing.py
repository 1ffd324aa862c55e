"""In which order a sheet is sawn: level by level, rips along the length first where they free as much."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass

from .boxes import ALONG_X, ALONG_Y
from .layout import Rectangle, groups_along, ways_to_part

Corners = Rectangle
"""Left, near, right and far edge."""


@dataclass(frozen=True, slots=True)
class SawCut:
    """One cut from edge to edge of what is on the saw, in tenths of a millimetre.

    `is_rip` tells that it runs along the sheet's length. It leaves its kerf from `at` on, between
    `start` and `end`. `size` is what the fence is set to: the width or length of what is cut off to keep,
    or 0 where only waste is trimmed off. `level` counts from 1; `strip` is the rectangle on the saw.
    """

    level: int
    is_rip: bool
    at: int
    start: int
    end: int
    size: int
    strip: Corners


def saw_order(rectangles: Sequence[Rectangle], box: Corners, kerf: int) -> tuple[SawCut, ...]:
    """The fewest cuts that free `rectangles` (x, y, length, width) from `box`, in the order to make them.

    All cuts of one level before those of the next, strip by strip. As many as `cuts_and_levels` counts;
    raises ValueError as it does when no edge-to-edge cuts part the rectangles.
    """
    found: list[SawCut] = []
    waiting = deque([(list(rectangles), box, 1)]) if rectangles else deque()
    while waiting:
        inside, corners, level = waiting.popleft()
        cuts, smaller = _on_the_saw(inside, corners, level, kerf)
        found += cuts
        waiting.extend(smaller)
    return tuple(sorted(found, key=lambda cut: cut.level))


class _OnTheSaw:
    """What is left of the piece on the saw, cut by cut."""

    def __init__(self, box: Corners, level: int, kerf: int) -> None:
        self.rest, self.level, self.kerf = list(box), level, kerf
        self.cuts: list[SawCut] = []

    def cut(self, axis: int, at: int, *, size: int = 0) -> None:
        left, near, right, far = self.rest
        start, end = (left, right) if axis == ALONG_Y else (near, far)
        strip = (left, near, right, far)
        self.cuts.append(SawCut(self.level, axis == ALONG_Y, at, start, end, size, strip))

    def trim(self, axis: int, low: int, high: int) -> None:
        """Takes off what lies before `low` and behind `high`."""
        if low > self.rest[axis]:
            self.cut(axis, low - self.kerf)
            self.rest[axis] = low
        if high < self.rest[axis + 2]:
            self.cut(axis, high)
            self.rest[axis + 2] = high

    def take_off(self, axis: int, start: int, end: int) -> Corners:
        """Cuts off the next piece to keep, between `start` and `end`, and gives it."""
        if start > self.rest[axis]:
            self.cut(axis, start - self.kerf)
            self.rest[axis] = start
        if end < self.rest[axis + 2]:
            self.cut(axis, end, size=end - start)
        left, near, right, far = self.rest
        self.rest[axis] = end + self.kerf
        return (left, near, end, far) if axis == ALONG_X else (left, near, right, end)


def _on_the_saw(
    rects: list[Rectangle], box: Corners, level: int, kerf: int
) -> tuple[list[SawCut], list[tuple[list[Rectangle], Corners, int]]]:
    """The cuts of one piece on the saw, and the smaller pieces that come off it to be cut further."""
    saw, smaller = _OnTheSaw(box, level, kerf), []
    if len(rects) == 1:
        for axis in (ALONG_Y, ALONG_X):
            saw.trim(axis, *_span(rects, axis))
        return saw.cuts, []
    axis = ALONG_X if ways_to_part(rects, box, kerf)[0][2] else ALONG_Y
    saw.trim(1 - axis, *_span(rects, 1 - axis))
    for group in groups_along(rects, axis, kerf):
        piece = saw.take_off(axis, *_span(group, axis))
        smaller.append((group, piece, level + 1))
    return saw.cuts, smaller


def _span(rects: Sequence[Rectangle], axis: int) -> tuple[int, int]:
    return min(r[axis] for r in rects), max(r[axis] + r[axis + 2] for r in rects)
