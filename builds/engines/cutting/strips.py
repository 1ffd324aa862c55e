"""Strips across a sheet, made of columns of pieces: which are worth most at given prices.

Three levels of cutting: a strip is cut off the sheet, columns off the strip, pieces off the column.
Source: P. C. Gilmore and R. E. Gomory, "Multistage cutting stock problems of two and more dimensions",
Operations Research 13 (1965): the value of every strip by a knapsack along its length, of every column
by one across it. Sizes here are whole steps of a grid, fine enough to lose next to nothing.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby

import numpy as np

from .blocks import Block, Board
from .boxes import ALONG_X, ALONG_Y

FINEST = 3000
"""Steps along a sheet at most; what is finer is rounded, pieces up and sheets down."""

NEARLY = 1e-9

Worths = np.ndarray
Marks = np.ndarray

Column = tuple[tuple[int, int], ...]
"""Which shapes of a frame, by place, lie across a strip in one column, and how many of each."""


@dataclass(frozen=True, slots=True)
class Shape:
    """One way a kind of block may lie in a frame: its size along the strip and across it, in steps."""

    kind: int
    along: int
    across: int
    size: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Strip:
    """`columns` side by side within `height`; how many blocks of each kind, how many saw cuts it takes."""

    height: int
    columns: tuple[Column, ...]
    counts: tuple[tuple[int, int], ...]
    cuts: int


@dataclass(frozen=True)
class Frame:
    """A board with the direction in which strips are stacked on it, along `axis`.

    `used` are the places of the shapes in use, narrow ones first, `heights` their sizes across.
    """

    board: Board
    axis: int
    step: int
    length: int
    room: int
    shapes: tuple[Shape, ...]
    used: tuple[int, ...]
    heights: tuple[int, ...]

    def only(self, demand: Sequence[int]) -> Frame:
        """The frame with the shapes of those kinds in use that there is a demand for."""
        used = tuple(place for place, shape in enumerate(self.shapes) if demand[shape.kind])
        heights = tuple(sorted({self.shapes[place].across for place in used}))
        return replace(self, used=used, heights=heights)

    @property
    def size(self) -> int:
        """How much there is to reckon for one round of strips, about."""
        return len(self.heights) * self.length * len(self.used)

    def height_for(self, height: int) -> int:
        """The lowest of the frame's heights that takes a strip of `height`."""
        return self.heights[bisect_left(self.heights, height)]


def kinds_of(blocks: Sequence[Block]) -> tuple[list[tuple[tuple[int, int], ...]], list[list[int]]]:
    """The different sizes among the blocks, and which blocks have them."""
    members: dict[tuple[tuple[int, int], ...], list[int]] = {}
    for place, block in enumerate(blocks):
        members.setdefault(block.sizes, []).append(place)
    return list(members), list(members.values())


def frames_of(kinds: Sequence[tuple[tuple[int, int], ...]], boards: Sequence[Board]) -> list[Frame]:
    """Every board with its strips along the length, and with its strips across."""
    frames = []
    for board in boards:
        for axis in (ALONG_Y, ALONG_X):
            frame = _frame(kinds, board, axis)
            if frame.shapes:
                frames.append(frame)
    return frames


def _frame(kinds: Sequence[tuple[tuple[int, int], ...]], board: Board, axis: int) -> Frame:
    length, room = (board.length, board.width) if axis == ALONG_Y else (board.width, board.length)
    common = math.gcd(length, room, *(side for sizes in kinds for size in sizes for side in size))
    step = max(common, math.ceil(max(length, room) / FINEST))
    shapes = []
    for kind, sizes in enumerate(kinds):
        for size in sizes:
            if size[1 - axis] <= length and size[axis] <= room:
                # what nearly takes the whole sheet must not be rounded past it; nothing fits beside it anyway
                along = min(-(-size[1 - axis] // step), length // step)
                across = min(-(-size[axis] // step), room // step)
                shapes.append(Shape(kind, along, across, size))
    shapes.sort(key=lambda shape: (shape.along, shape.across))
    return Frame(board, axis, step, length // step, room // step, tuple(shapes), (), ())


def best_strips(
    frame: Frame, prices: Sequence[float], demand: Sequence[int], cut_price: float = 0.0
) -> list[tuple[float, Strip]]:
    """For each height of the frame a strip worth the most at these prices, or near it, and its worth.

    No strip holds more of a kind than `demand` asks for. A saw cut costs `cut_price`.
    """
    if not frame.used:
        return []
    columns = _Columns(frame, prices, demand, cut_price)
    filling = _Filling(frame, columns)
    found = []
    for row in range(len(frame.heights)):
        strip = _strip(frame, filling.columns_of(row), demand)
        if strip is not None:
            worth = sum(prices[kind] * many for kind, many in strip.counts)
            found.append((worth - strip.cuts * cut_price, strip))
    return found


class _Columns:
    """The worth of the best column of each width in a strip of any height."""

    def __init__(
        self, frame: Frame, prices: Sequence[float], demand: Sequence[int], cut_price: float
    ) -> None:
        self.frame, self.demand, self.cut_price = frame, demand, cut_price
        self.prices = [price - cut_price for price in prices]
        worth = np.zeros(frame.heights[-1] + 1)
        self._steps: list[tuple[np.ndarray, int, int, int]] = []
        self.by_width: dict[int, tuple[np.ndarray, int]] = {}
        for place in frame.used:
            shape = frame.shapes[place]
            worth = self._with(worth, place, shape)
            self.by_width[shape.along] = (worth, len(self._steps))

    def _with(self, worth: np.ndarray, place: int, shape: Shape) -> np.ndarray:
        price, high = self.prices[shape.kind], shape.across
        if price <= NEARLY:
            return worth
        for many in halves(min(self.demand[shape.kind], (len(worth) - 1) // high)):
            up = high * many
            better = worth.copy()
            np.maximum(worth[up:], worth[:-up] + price * many, out=better[up:])
            self._steps.append((better > worth, up, place, many))
            worth = better
        return worth

    def column(self, width: int, height: int) -> Column:
        """What the best column of a width holds."""
        got: Counter[int] = Counter()
        for better, up, place, many in reversed(self._steps[: self.by_width[width][1]]):
            if better[height]:
                got[place] += many
                height -= up
        return tuple(sorted(got.items()))


@dataclass(frozen=True, slots=True)
class _Step:
    """`times` columns of a width offered to some rows, and where they made a strip worth more.

    A column holds `many` of the shape at `place`, or the best of any shapes where that is None.
    """

    better: Marks
    first_row: int
    width: int
    times: int
    place: int | None
    many: int


class _Filling:
    """The best row of columns along the strip, for all heights of a frame at once."""

    MIXED_TIMES = 3

    def __init__(self, frame: Frame, columns: _Columns) -> None:
        self.frame, self.columns = frame, columns
        self.heights = np.array(frame.heights)
        self.worth = np.zeros((len(frame.heights), frame.length + 1))
        self._steps: list[_Step] = []
        plain = before = np.zeros(len(frame.heights))
        for width, places in groupby(frame.used, lambda place: frame.shapes[place].along):
            for place in places:
                plain = np.maximum(plain, self._alike(place, frame.shapes[place]))
            plain = before = self._mixed(width, plain, before)

    def _alike(self, place: int, shape: Shape) -> Worths:
        """Columns of one shape only: as many across as each height takes."""
        price = self.columns.prices[shape.kind]
        across = np.minimum(self.heights // shape.across, self.columns.demand[shape.kind])
        if price > NEARLY:
            for many in sorted({int(n) for n in across if n}):
                rows = np.nonzero(across == many)[0]
                times = self.columns.demand[shape.kind] // many
                trimmed = self.heights[rows] > many * shape.across
                within, values = slice(rows[0], rows[-1] + 1), price * many - self.columns.cut_price * trimmed
                self._add(within, shape.along, values, place, many, times)
        return np.asarray(across * price)

    def _mixed(self, width: int, plain: Worths, before: Worths) -> Worths:
        """The best columns of any shapes up to a width, where they are worth more than plain ones."""
        worth = self.columns.by_width[width][0][self.heights]
        rows = np.nonzero(worth > np.maximum(plain, before) + NEARLY)[0]
        if len(rows):
            values = np.where(worth > np.maximum(plain, before) + NEARLY, worth, 0.0)[rows[0] :]
            self._add(slice(rows[0], len(worth)), width, values, None, 0, self.MIXED_TIMES)
        return np.asarray(np.maximum(plain, worth))

    def _add(
        self, rows: slice, width: int, values: np.ndarray, place: int | None, many: int, times: int
    ) -> None:
        part = self.worth[rows]
        for more in halves(min(times, self.frame.length // width)):
            along = width * more
            tried = part[:, :-along] + values[:, None] * more
            better = tried > part[:, along:] + NEARLY
            if not better.any():
                return
            np.copyto(part[:, along:], tried, where=better)
            self._steps.append(_Step(better, rows.start, width, more, place, many))

    def columns_of(self, row: int) -> list[Column]:
        """The columns of the best strip of one height, plain ones first."""
        height, at = self.frame.heights[row], self.frame.length
        plain: list[Column] = []
        mixed: list[Column] = []
        for step in reversed(self._steps):
            along = step.width * step.times
            inside = step.first_row <= row < step.first_row + len(step.better) and at >= along
            if inside and step.better[row - step.first_row, at - along]:
                at -= along
                if step.place is None:
                    mixed += [self.columns.column(step.width, height)] * step.times
                else:
                    plain += [((step.place, step.many),)] * step.times
        return plain + mixed


def halves(times: int) -> list[int]:
    """1, 2, 4 ... that sum to `times`: any number up to it is a sum of some of them."""
    found, step = [], 1
    while times > 0:
        found.append(min(step, times))
        times -= found[-1]
        step *= 2
    return found


def _strip(frame: Frame, columns: Sequence[Column], demand: Sequence[int]) -> Strip | None:
    """The strip of these columns, without what is more than asked for."""
    left: dict[int, int] = {}
    kept: list[Column] = []
    for column in columns:
        taken = []
        for place, many in column:
            kind = frame.shapes[place].kind
            more = min(many, left.setdefault(kind, demand[kind]))
            left[kind] -= more
            if more:
                taken.append((place, more))
        if taken:
            kept.append(tuple(taken))
    return strip_of(frame, kept) if kept else None


def strip_of(frame: Frame, columns: Sequence[Column]) -> Strip:
    """A strip as high as the highest of its columns."""
    shapes = frame.shapes
    high = [sum(many * shapes[place].across for place, many in column) for column in columns]
    counts: Counter[int] = Counter()
    for column in columns:
        for place, many in column:
            counts[shapes[place].kind] += many
    height = max(high)
    ordered = tuple(sorted(columns, key=lambda c: (max(shapes[p].along for p, _ in c), c), reverse=True))
    return Strip(height, ordered, tuple(sorted(counts.items())), _cuts(frame, ordered, height))


def _cuts(frame: Frame, columns: Sequence[Column], height: int) -> int:
    """Saw cuts of a strip: itself off the sheet, its columns, its pieces and their trims."""
    shapes, cuts, along = frame.shapes, 1, 0
    for column in columns:
        width = max(shapes[place].along for place, _ in column)
        high = sum(many * shapes[place].across for place, many in column)
        along += width
        cuts += sum(many for _, many in column) + (high < height)
        cuts += sum(many for place, many in column if shapes[place].along < width)
    return cuts - (along == frame.length)
