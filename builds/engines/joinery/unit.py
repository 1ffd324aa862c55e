"""A unit to be made: outer sizes, boards and choices; and what comes of it."""

from __future__ import annotations

from dataclasses import dataclass

from .errors import JoineryError, mm
from .pieces import Board, PartMade, Piece, Sizes

FRAME_LEAST = 300
"""A frame leaves at least 30 mm of the board inside it to see. Common practice, no source."""


@dataclass(frozen=True)
class ToMake:
    """A unit with its choices; sizes outside over everything, fronts included.

    `fronts` is "none", "plain" or "framed"; with "none" drawers still get their boxes, because the fronts
    are made elsewhere. The outer hinges sit `hinge_from` the ends, handles `handle_from` the edges, on tall
    doors `handle_height` up. `walls` are the faces that meet the van's wall: "back", "left", "right".
    """

    kind: str
    made_as: str
    width: int
    depth: int
    height: int
    board: Board
    back_board: Board
    front_board: Board
    strip: Board | None = None
    rail: Board | None = None
    has_back: bool = True
    plinth: int = 0
    inside: str = "shelves"
    bays: int = 1
    shelves: int = 0
    fronts: str = "none"
    doors: int = 0
    drawers: int = 0
    drawer_front: int = 1600
    hinges: str = "left"
    front_grain: str = "up"
    gap: int = 20
    strip_width: int = 400
    rail_width: int = 400
    scribe: int = 100
    hinge_from: int = 1000
    handle_from: int = 400
    handle_height: int = 10000
    walls: frozenset[str] = frozenset()

    @property
    def outer(self) -> Sizes:
        return self.width, self.depth, self.height

    @property
    def front_thickness(self) -> int:
        """How far doors and drawer fronts stand out; 0 where there are none."""
        if self.fronts == "none" or not (self.doors or self.drawers):
            return 0
        return self.front_board.thickness + (self.strip.thickness if self.is_framed and self.strip else 0)

    @property
    def is_framed(self) -> bool:
        return self.fronts == "framed"


@dataclass(frozen=True, slots=True)
class Front:
    """A door, drawer front or fixed front as it is seen: its place on the unit's front, hinges and handle.

    `hinges_at` are distances along the hinged edge, from its bottom or left end; `handle_at` is from the
    front's lower left corner. `frame` is the width of uprights and of rails, (0, 0) for a plain board.
    """

    key: str
    name: str
    opens: str
    x: int
    z: int
    width: int
    height: int
    hinged: str = ""
    hinges_at: tuple[int, ...] = ()
    handle_at: tuple[int, int] | None = None
    frame: tuple[int, int] = (0, 0)


@dataclass(frozen=True)
class Derived:
    """What a unit comes to: pieces in their places, the parts they make, and its fronts."""

    unit: ToMake
    pieces: tuple[Piece, ...]
    parts: tuple[PartMade, ...]
    fronts: tuple[Front, ...]


COUNTS = {"bays": (1, 12), "shelves": (0, 12), "doors": (0, 24), "drawers": (0, 8)}
SIZES = {
    "width": (200, 90000), "depth": (30, 60000), "height": (30, 60000), "plinth": (0, 4000), "gap": (0, 200),
    "drawer_front": (600, 6000), "strip_width": (50, 4000), "rail_width": (50, 4000), "scribe": (0, 1000),
    "hinge_from": (200, 6000), "handle_from": (100, 6000), "handle_height": (1000, 20000),
}  # fmt: skip


def require_sound(unit: ToMake) -> None:
    """Refuses counts and sizes that nobody makes, before anything is worked out from them."""
    for field, (least, most) in COUNTS.items():
        if not least <= getattr(unit, field) <= most:
            raise JoineryError(f"There are {least} to {most} {field}.", field=field)
    for field, (least, most) in SIZES.items():
        if not least <= getattr(unit, field) <= most:
            words = field.replace("_", " ").capitalize()
            raise JoineryError(f"{words} is {mm(least)} to {mm(most)}.", field=field)
    if unit.is_framed and unit.strip is None:
        raise JoineryError("Framed fronts need a strip to make the frame of.", field="strip")
    if unit.is_framed and unit.strip is not None and unit.strip.width is not None:
        for field in ("strip_width", "rail_width"):
            if getattr(unit, field) > unit.strip.width:
                raise JoineryError(
                    f"{unit.strip.name} is {mm(unit.strip.width)} wide; "
                    f"{mm(getattr(unit, field))} can't be cut from it.",
                    field=field,
                )
