"""The choices to start from for each kind of unit, until the owner says otherwise.

Every figure here is common practice, with no source to cite.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

DOOR_WIDTH = 5000
"""Doors of about half a metre hang well on two hinges."""

BAY_WIDTH = 6000
"""A shelf of 12 mm board carries about 600 mm without a divider under it."""

PAIR_FROM = 5000


@dataclass(frozen=True)
class Usual:
    """Choices by the names they have in a unit to be made; boards by the key of their material.

    An empty board is the same as the unit's own.
    """

    back_board: str = "ply4"
    front_board: str = "ply9"
    strip: str = "strip6"
    has_back: bool = True
    plinth: int = 0
    inside: str = "shelves"
    bays: int = 1
    shelves: int = 0
    fronts: str = "plain"
    doors: int = 0
    drawers: int = 0
    hinges: str = "left"
    front_grain: str = "up"
    walls: frozenset[str] = field(default=frozenset({"back"}))


NOWHERE: frozenset[str] = frozenset()
BOX = Usual(back_board="", fronts="none")


def usual_choices(kind: str, made_as: str, width: int, *, fronts_elsewhere: bool = False) -> Usual:
    """What a unit of this kind and width usually has.

    With `fronts_elsewhere` all fronts of the van are a unit of their own, so a cupboard brings none.
    """
    found = _of_kind(kind, made_as, width)
    if fronts_elsewhere and made_as != "fronts" and found.fronts != "none":
        return replace(found, fronts="none")
    return found


def _of_kind(kind: str, made_as: str, width: int) -> Usual:
    if kind in ("seat_box", "bench_box"):
        return replace(BOX, bays=_many(width, BAY_WIDTH))
    if kind == "bed":
        return replace(BOX, bays=2)
    if kind == "drawer":
        return Usual(walls=NOWHERE)
    if kind == "headliner_shelf":
        return replace(BOX, walls=frozenset({"left", "right"}))
    if kind == "overhead":
        doors = _many(width, BAY_WIDTH)
        return Usual(bays=doors, doors=doors, hinges="top", front_grain="across")
    if kind == "kitchen":
        bays = max(2, _many(width, DOOR_WIDTH))
        return Usual(bays=bays, doors=bays - 1, drawers=2, shelves=1, plinth=600)
    if kind == "wardrobe":
        doors = 2 if width > PAIR_FROM else 1
        return Usual(inside="rail", shelves=1, doors=doors, hinges="pairs")
    if kind == "pantry":
        return Usual(shelves=4, doors=1)
    return _of_way(made_as, width)


def _of_way(made_as: str, width: int) -> Usual:
    if made_as == "fronts":
        return Usual(fronts="framed", doors=_many(width, DOOR_WIDTH), hinges="pairs", walls=NOWHERE)
    if made_as == "panels":
        return replace(BOX, bays=2, walls=NOWHERE)
    if made_as == "wet":
        return replace(BOX, walls=NOWHERE)
    if made_as in ("top", "kit"):
        return BOX if made_as == "top" else replace(BOX, walls=NOWHERE)
    return Usual(doors=_many(width, DOOR_WIDTH), shelves=1)


def _many(width: int, each: int) -> int:
    return max(1, round(width / each))
