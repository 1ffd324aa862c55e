"""Chosen strips as sheets that the search can go on with."""

from __future__ import annotations

from collections.abc import Sequence

from .boxes import EMPTY, KEPT_FREE, Box
from .filling import Sheet
from .strip_choice import Stacked
from .strips import Column, Frame, Strip


class Sawyer:
    """Lays single blocks into strips; `members` are the blocks of each kind, the surplus is left out."""

    def __init__(self, members: Sequence[Sequence[int]], least: int, levels: int) -> None:
        self._waiting = [list(reversed(blocks)) for blocks in members]
        self._least, self._levels = least, levels

    def sheet(self, stacked: Stacked, *, keeps_rest: bool = False) -> Sheet:
        """One sheet with its strips, holes where nothing lies; with `keeps_rest` the largest is kept free."""
        frame = stacked.frame
        sheet = Sheet(frame.board, self._least, self._levels)
        rest: Box | None = sheet.root
        for strip in stacked.strips:
            columns = self._drawn(frame, strip)
            if columns and rest is not None:
                high = max(sum(size[frame.axis] for _, size in column) for column in columns)
                box, rest = rest.divide(frame.axis, high)
                self._fill(frame, box, columns)
        pile = [(place, 1) for place in stacked.beside]
        column = self._column(frame, tuple(pile))
        if column and rest is not None:
            self._fill(frame, rest, [column])
        if keeps_rest:
            empty = [leaf for leaf in sheet.root.leaves() if leaf.block == EMPTY]
            if empty:
                max(empty, key=lambda leaf: leaf.w * leaf.h).block = KEPT_FREE
        sheet.look_for_holes()
        return sheet

    def _drawn(self, frame: Frame, strip: Strip) -> list[list[tuple[int, tuple[int, int]]]]:
        columns = [self._column(frame, column) for column in strip.columns]
        return [column for column in columns if column]

    def _column(self, frame: Frame, column: Column) -> list[tuple[int, tuple[int, int]]]:
        """The blocks of a column that are still wanted, with the sizes as they lie, widest first."""
        drawn = []
        for place, many in column:
            shape = frame.shapes[place]
            for _ in range(min(many, len(self._waiting[shape.kind]))):
                drawn.append((self._waiting[shape.kind].pop(), shape.size))
        return sorted(drawn, key=lambda piece: -piece[1][1 - frame.axis])

    def _fill(self, frame: Frame, box: Box, columns: Sequence[Sequence[tuple[int, tuple[int, int]]]]) -> None:
        along = 1 - frame.axis
        rest: Box | None = box
        for column in columns:
            assert rest is not None
            pile, rest = rest.divide(along, max(size[along] for _, size in column))
            above: Box | None = pile
            for block, size in column:
                assert above is not None
                leaf, above = above.divide(frame.axis, size[frame.axis])
                leaf.block, leaf.laid = block, size
