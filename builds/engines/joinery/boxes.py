"""Boxes to sit and lie on: front and back over the ends, a lid or slats over everything."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

from .carcass import OVER_A_BOX, TOE_SPACE
from .drawer import box_in_bay, drawer_box
from .errors import JoineryError, mm
from .fronts import Grid, Opening, grid_of, pieces_of
from .pieces import Piece
from .spacing import even_gaps, even_sizes, starts
from .unit import Front, ToMake

SLAT = 700
SLAT_GAP = 600
"""Slats 70 mm wide, at most 60 mm apart. Common practice, no source."""

TOP_RAIL = 600


@dataclass(frozen=True)
class Box:
    """A seat box or low locker with a bottom and a lid; a bed with slats and neither.

    Its bays lie side by side, a bed's one behind the other. Without doors its front is a fixed board.
    """

    unit: ToMake
    slatted: bool = False

    def made(self) -> tuple[list[Piece], tuple[Front, ...]]:
        self._require_room()
        pieces = [
            *self._front_board(), *self._back(), *self._ends(), *self._bottom(), *self._dividers(),
            *self._front_rails(), *(self._slats() if self.slatted else self._lid()), *self._drawer_boxes(),
        ]  # fmt: skip
        fronts = self.grid.fronts if self.grid and self.unit.fronts != "none" else ()
        return [*pieces, *pieces_of(self.unit, fronts)], fronts

    @property
    def t(self) -> int:
        return self.unit.board.thickness

    @property
    def opens(self) -> bool:
        """Whether doors or drawers open it at the front."""
        return bool(self.unit.doors or self.unit.drawers)

    @property
    def front(self) -> int:
        """Where the ends begin: behind the fixed front, or behind the doors."""
        return self.unit.front_thickness if self.opens else self.t

    @property
    def back(self) -> int:
        return self.unit.depth - (self.unit.back_board.thickness if self.unit.has_back else 0)

    @property
    def top(self) -> int:
        return self.unit.height - self.t

    @property
    def floor(self) -> int:
        return 0 if self.slatted else self.unit.plinth + self.t

    @property
    def room(self) -> int:
        return self.unit.width - 2 * self.t

    @cached_property
    def grid(self) -> Grid | None:
        if not self.opens:
            return None
        unit = replace(self.unit, bays=1) if self.slatted else self.unit
        return grid_of(unit, Opening(0, unit.width, unit.plinth, self.top))

    @cached_property
    def bays(self) -> list[tuple[int, int]]:
        """From and to of each bay, along x, in a bed along y."""
        first, last = (self.front, self.back) if self.slatted else (self.t, self.unit.width - self.t)
        if self.grid and self.unit.fronts != "none" and not self.slatted:
            edges = [first - self.t, *(m - self.t // 2 for m in self.grid.middles), last]
            return [(a + self.t, b) for a, b in pairwise(edges)]
        size, gaps = even_sizes(last - first, self.unit.bays, self.t, ends=False, what="bays", field="bays")
        return [(at, at + size) for at in starts(first, size, gaps, ends=False)]

    def _require_room(self) -> None:
        unit = self.unit
        if self.room <= 0:
            raise JoineryError(f"Nothing is left between two ends in {mm(unit.width)}.", field="width")
        if self.back - self.front <= 0:
            raise JoineryError(f"Front and back leave nothing of a depth of {mm(unit.depth)}.", field="depth")
        if self.top - self.floor <= 0 or self.top - unit.plinth <= 0:
            raise JoineryError(f"Plinth, bottom and top leave nothing of {mm(unit.height)}.", field="height")
        if unit.inside == "rail":
            raise JoineryError("Nothing hangs in a box: choose shelves.", field="inside")
        if unit.shelves:
            raise JoineryError("A box under a lid takes no shelves; its bays divide it.", field="shelves")
        if unit.drawers and unit.doors and unit.bays == 1:
            raise JoineryError("In one bay a box takes doors or drawers, not both.", field="drawers")
        if min(b - a for a, b in self.bays) <= 0:
            raise JoineryError(f"{unit.bays} bays find no room.", field="bays")

    def _front_board(self) -> list[Piece]:
        unit = self.unit
        found = []
        if not self.opens:
            at, size = (0, 0, unit.plinth), (unit.width, self.t, self.top - unit.plinth)
            found.append(
                Piece("front", "Front", unit.board, at, size, "xz", finish=("left", "right", "bottom"))
            )
        if unit.plinth:
            if self.front + TOE_SPACE + self.t > self.back:
                raise JoineryError(f"A plinth set back {mm(TOE_SPACE)} finds no room.", field="plinth")
            at, size = (self.t, self.front + TOE_SPACE, 0), (self.room, self.t, unit.plinth)
            found.append(Piece("plinth", "Plinth", unit.board, at, size, "xz", room=self.room))
        return found

    def _back(self) -> list[Piece]:
        unit = self.unit
        size = (unit.width, unit.back_board.thickness, self.top)
        if not unit.has_back:
            return []
        return [Piece("back", "Back", unit.back_board, (0, self.back, 0), size, "xz", grain="any")]

    def _ends(self) -> list[Piece]:
        finish = ("front",) if self.opens else ()
        size = (self.t, self.back - self.front, self.top)
        return [
            Piece("end", "End", self.unit.board, (x, self.front, 0), size, "yz", finish=finish)
            for x in (0, self.unit.width - self.t)
        ]

    def _bottom(self) -> list[Piece]:
        if self.slatted:
            return []
        at, size = (self.t, self.front, self.unit.plinth), (self.room, self.back - self.front, self.t)
        return [Piece("bottom", "Bottom", self.unit.board, at, size, "xy", grain="any", room=self.room)]

    def _dividers(self) -> list[Piece]:
        if self.slatted:
            floor = self.unit.plinth
            return [
                Piece(
                    "middle", "Middle board", self.unit.board, (self.t, end, floor),
                    (self.room, self.t, self.top - floor), "xz", room=self.room,
                )
                for _, end in self.bays[:-1]
            ]  # fmt: skip
        size = (self.t, self.back - self.front, self.top - self.floor)
        return [
            Piece("divider", "Divider", self.unit.board, (end, self.front, self.floor), size, "yz")
            for _, end in self.bays[:-1]
        ]

    def _front_rails(self) -> list[Piece]:
        """Rails under the top where doors leave the front open, so that the top is carried."""
        if not self.opens:
            return []
        height = min(TOP_RAIL, self.top - self.floor)
        bays = [(self.t, self.unit.width - self.t)] if self.slatted else self.bays
        return [
            Piece("front-rail", "Front rail", self.unit.board, (a, self.front, self.top - height),
                  (b - a, self.t, height), "xz", room=b - a)
            for a, b in bays
        ]  # fmt: skip

    def _lid(self) -> list[Piece]:
        unit = self.unit
        finish = tuple(f for f in ("left", "right", "front", "back") if f not in unit.walls)
        size = (unit.width, unit.depth, self.t)
        return [Piece("lid", "Lid", unit.board, (0, 0, self.top), size, "xy", finish=finish)]

    def _slats(self) -> list[Piece]:
        unit = self.unit
        many = max(2, -(-(unit.width + SLAT_GAP) // (SLAT + SLAT_GAP)))
        gaps = even_gaps(unit.width, many * SLAT, many - 1)
        if min(gaps) <= 0:
            raise JoineryError(f"Slats of {mm(SLAT)} find no room in {mm(unit.width)}.", field="width")
        return [
            Piece("slat", "Slat", unit.board, (x, 0, self.top), (SLAT, unit.depth, self.t), "yx",
                  finish=("left", "right"), meets_walls=False)
            for x in starts(0, SLAT, gaps, ends=False)
        ]  # fmt: skip

    def _drawer_boxes(self) -> list[Piece]:
        if not self.unit.drawers or self.grid is None:
            return []
        back = self.bays[0][1] if self.slatted else self.back
        bay = (self.t, self.unit.width - self.t) if self.slatted else self.bays[-1]
        found: list[Piece] = []
        for front in self.grid.fronts:
            if front.opens == "drawer":
                z = max(front.z + OVER_A_BOX, self.floor + OVER_A_BOX // 2)
                z_end = min(front.z + front.height - OVER_A_BOX, self.top - TOP_RAIL - OVER_A_BOX // 2)
                at, size = box_in_bay(*bay, self.front, back, z, z_end)
                found += drawer_box(at, size, self.unit.board, self.unit.back_board)
        return found
