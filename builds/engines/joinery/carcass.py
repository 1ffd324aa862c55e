"""Cupboards: sides from the floor, bottom, top and back between them, dividers, shelves, fronts laid on."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from .drawer import box_in_bay, drawer_box
from .errors import JoineryError, mm
from .fronts import Grid, Opening, grid_of, pieces_of
from .pieces import Piece
from .spacing import even_gaps, even_sizes, starts
from .unit import Front, ToMake

FILLER = 300
"""A strip of 30 mm between a side and the van's wall, scribed to it. Common practice, no source."""

TOE_SPACE = 500
RAIL = 1000
UNDER_DRAWERS = 600
"""A plinth 50 mm back, top rails 100 mm wide, a rail of 60 mm under drawers. Common practice, no source."""

HANGING = 8000
HAT_SPACE = 2500
RAIL_UNDER = 600
"""Clothes hang in at least 800 mm; 250 mm over a shelf; the rail 60 mm under. Common practice, no source."""

OVER_A_BOX = 200
"""A drawer's box is 20 mm lower than its front, above and below. Common practice, no source."""


@dataclass(frozen=True)
class Carcass:
    """A cupboard as it is made up. `open_top` gives it two rails to carry a worktop instead of a top."""

    unit: ToMake
    open_top: bool = False

    def made(self) -> tuple[list[Piece], tuple[Front, ...]]:
        self._require_room()
        pieces = [
            *self._fillers(), *self._sides(), *self._bottom(), *self._top(), *self._back(), *self._dividers(),
            *self._shelves(), *self._hanging(), *self._under_drawers(), *self._drawer_boxes(),
        ]  # fmt: skip
        fronts = self.grid.fronts if self.unit.fronts != "none" else ()
        return [*pieces, *pieces_of(self.unit, fronts)], fronts

    # where things stand

    @property
    def t(self) -> int:
        return self.unit.board.thickness

    @property
    def left(self) -> int:
        return FILLER if "left" in self.unit.walls else 0

    @property
    def right(self) -> int:
        return self.unit.width - (FILLER if "right" in self.unit.walls else 0)

    @property
    def front(self) -> int:
        return self.unit.front_thickness

    @property
    def inner_back(self) -> int:
        return self.unit.depth - (self.unit.back_board.thickness if self.unit.has_back else 0)

    @property
    def floor(self) -> int:
        return self.unit.plinth + self.t

    @property
    def ceiling(self) -> int:
        return self.unit.height - self.t

    @cached_property
    def grid(self) -> Grid:
        return grid_of(self.unit, Opening(self.left, self.right, self.unit.plinth, self.unit.height))

    @cached_property
    def divider_places(self) -> list[int]:
        """Behind the gaps between fronts; where it stays open the bays are equal."""
        if self.unit.fronts != "none":
            return [middle - self.t // 2 for middle in self.grid.middles]
        inner = self.right - self.left - 2 * self.t
        width, gaps = even_sizes(inner, self.unit.bays, self.t, ends=False, what="bays", field="bays")
        return [x - self.t for x in starts(self.left + self.t, width, gaps, ends=False)[1:]]

    @cached_property
    def bays(self) -> list[tuple[int, int]]:
        """From and to, between the sides and dividers."""
        walls = [self.left, *self.divider_places, self.right - self.t]
        return [(a + self.t, b) for a, b in pairwise(walls)]

    @property
    def door_bays(self) -> list[tuple[int, int]]:
        return self.bays[:-1] if self.unit.drawers and self.unit.bays > 1 else self.bays

    @property
    def room(self) -> int:
        return self.right - self.left - 2 * self.t

    def _require_room(self) -> None:
        unit = self.unit
        if self.room <= 0:
            raise JoineryError(
                f"Nothing is left between two sides of {mm(self.t)} in {mm(self.right - self.left)}.",
                field="width",
            )
        if self.inner_back - self.front <= 0:
            raise JoineryError(f"Front and back leave nothing of a depth of {mm(unit.depth)}.", field="depth")
        if self.ceiling - self.floor <= 0:
            raise JoineryError(
                f"Plinth, bottom and top leave nothing of a height of {mm(unit.height)}.", field="height"
            )
        narrow = min(b - a for a, b in self.bays)
        if narrow <= 0:
            raise JoineryError(f"{unit.bays} bays leave {mm(narrow)} between their sides.", field="bays")

    # what it is made of

    def _fillers(self) -> list[Piece]:
        size = (FILLER, self.t, self.unit.height)
        places = {"left": 0, "right": self.right}
        return [
            Piece("filler", "Filler at the wall", self.unit.board, (places[wall], 0, 0), size, "zx")
            for wall in ("left", "right")
            if wall in self.unit.walls
        ]

    def _sides(self) -> list[Piece]:
        size = (self.t, self.unit.depth - self.front, self.unit.height)
        return [
            Piece("side", "Side", self.unit.board, (x, self.front, 0), size, "zy", finish=("front",))
            for x in (self.left, self.right - self.t)
        ]

    def _between(
        self, key: str, name: str, y: int, y_end: int, z: int, *, finish: tuple[str, ...] = ()
    ) -> Piece:
        """A level board between the sides."""
        at, size = (self.left + self.t, y, z), (self.room, y_end - y, self.t)
        return Piece(key, name, self.unit.board, at, size, "xy", finish=finish, room=self.room)

    def _bottom(self) -> list[Piece]:
        unit = self.unit
        found = [
            self._between("bottom", "Bottom", self.front, unit.depth, unit.plinth, finish=("front",)),
        ]
        if unit.plinth:
            if self.front + TOE_SPACE + self.t > self.inner_back:
                raise JoineryError(f"A plinth set back {mm(TOE_SPACE)} finds no room.", field="plinth")
            at, size = (self.left + self.t, self.front + TOE_SPACE, 0), (self.room, self.t, unit.plinth)
            found.append(Piece("plinth", "Plinth", unit.board, at, size, "xz", room=self.room))
        return found

    def _top(self) -> list[Piece]:
        unit = self.unit
        if not self.open_top:
            return [self._between("top", "Top", self.front, unit.depth, self.ceiling, finish=("front",))]
        if unit.depth - self.front < 2 * RAIL:
            raise JoineryError(f"Two top rails of {mm(RAIL)} find no room.", field="depth")
        return [
            self._between("top-rail", "Top rail, front", self.front, self.front + RAIL, self.ceiling),
            self._between("top-rail-back", "Top rail, back", unit.depth - RAIL, unit.depth, self.ceiling),
        ]

    def _back(self) -> list[Piece]:
        unit = self.unit
        if not unit.has_back:
            return []
        at = (self.left + self.t, self.inner_back, self.floor)
        size = (self.room, unit.back_board.thickness, self.ceiling - self.floor)
        lies = "xz" if size[0] >= size[2] else "zx"
        return [Piece("back", "Back", unit.back_board, at, size, lies, grain="any", room=self.room)]

    def _dividers(self) -> list[Piece]:
        size = (self.t, self.inner_back - self.front, self.ceiling - self.floor)
        return [
            Piece(
                "divider",
                "Divider",
                self.unit.board,
                (x, self.front, self.floor),
                size,
                "zy",
                finish=("front",),
            )
            for x in self.divider_places
        ]

    def _shelf(self, bay: tuple[int, int], z: int) -> Piece:
        at = (bay[0], self.front, z)
        size = (bay[1] - bay[0], self.inner_back - self.front, self.t)
        return Piece("shelf", "Shelf", self.unit.board, at, size, "xy", finish=("front",), room=size[0])

    def _shelves(self) -> list[Piece]:
        heights = self._hat_shelves() if self.unit.inside == "rail" else self._even_shelves()
        if not heights or self._drawers_alone():
            return []
        return [self._shelf(bay, z) for bay in self.door_bays for z in heights]

    def _drawers_alone(self) -> bool:
        """Whether drawers fill all there is, so that no shelf finds a place."""
        return bool(self.unit.drawers) and self.unit.bays == 1 and not self.unit.doors

    def _even_shelves(self) -> list[int]:
        many, under = self.unit.shelves, self._shelves_end_at()
        if not many:
            return []
        gaps = even_gaps(under - self.floor, many * self.t, many + 1)
        if min(gaps) <= 0:
            raise JoineryError(
                f"{many} shelves of {mm(self.t)} find no room in {mm(under - self.floor)}.", field="shelves"
            )
        return starts(self.floor, self.t, gaps, ends=True)

    def _hat_shelves(self) -> list[int]:
        under = self._shelves_end_at()
        return [under - (n + 1) * (HAT_SPACE + self.t) for n in range(self.unit.shelves)]

    def _shelves_end_at(self) -> int:
        low = self.grid.drawers_down_to
        return self.ceiling if low is None else low - self.unit.gap // 2 - self.t // 2

    def _hanging(self) -> list[Piece]:
        unit = self.unit
        if unit.inside != "rail":
            return []
        if unit.rail is None:
            raise JoineryError("There is no tube for a rail among the materials.", field="inside")
        if self._drawers_alone():
            raise JoineryError(
                "Drawers fill all of it, so nothing hangs there. Give it doors, or one bay more.",
                field="inside",
            )
        t = unit.rail.thickness
        z = min([*self._hat_shelves(), self._shelves_end_at()]) - RAIL_UNDER - t
        if z - self.floor < HANGING:
            raise JoineryError(
                f"The rail would leave {mm(z - self.floor)} to hang things in; clothes need {mm(HANGING)}.",
                field="inside",
            )
        y = (self.front + self.inner_back - t) // 2
        return [
            Piece("rail", "Rail", unit.rail, (a, y, z), (b - a, t, t), "xy", meets_walls=False, room=b - a)
            for a, b in self.door_bays
        ]

    def _under_drawers(self) -> list[Piece]:
        """The rail between drawers and the doors under them."""
        low = self.grid.drawers_down_to
        if low is None:
            return []
        z = low - self.unit.gap // 2 - self.t // 2
        if z <= self.floor:
            raise JoineryError("The drawers leave no room for doors under them.", field="drawers")
        deep = min(UNDER_DRAWERS, self.inner_back - self.front)
        return [self._between("drawer-divider", "Rail under the drawers", self.front, self.front + deep, z)]

    def _drawer_boxes(self) -> list[Piece]:
        if not self.unit.drawers:
            return []
        low = self.grid.drawers_down_to
        bottom = self.floor if low is None else low - self.unit.gap // 2 - self.t // 2 + self.t
        bay = self.bays[-1]
        found: list[Piece] = []
        for front in self.grid.fronts:
            if front.opens == "drawer":
                z = max(front.z + OVER_A_BOX, bottom + OVER_A_BOX // 2)
                z_end = min(front.z + front.height - OVER_A_BOX, self.ceiling - OVER_A_BOX // 2)
                at, size = box_in_bay(*bay, self.front, self.inner_back, z, z_end)
                found += drawer_box(at, size, self.unit.board, self.unit.back_board)
        return found
