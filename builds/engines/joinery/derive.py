"""The one door of the joinery engine: a unit to its parts."""

from __future__ import annotations

from collections.abc import Callable

from . import flats
from .boxes import Box
from .carcass import Carcass
from .pieces import parts_of, require_cuttable, scribed
from .unit import Derived, ToMake, require_sound

SHAPES: dict[str, Callable[[ToMake], flats.Made]] = {
    "seat_box": lambda unit: Box(unit).made(),
    "bench_box": lambda unit: Box(unit).made(),
    "bed": lambda unit: Box(unit, slatted=True).made(),
    "kitchen": lambda unit: Carcass(unit, open_top=True).made(),
    "headliner_shelf": flats.cab_shelf,
    "drawer": flats.drawer,
}
WAYS: dict[str, Callable[[ToMake], flats.Made]] = {
    "carcass": lambda unit: Carcass(unit).made(),
    "panels": flats.door_cards,
    "fronts": flats.fronts,
    "top": flats.worktop,
    "kit": flats.worktop,
    "wet": flats.cubicle,
}


def derive(unit: ToMake) -> Derived:
    """Works out the parts of a unit, where each stands in it, and its fronts.

    Sizes are whole tenths of a millimetre, outside over everything. Parts are as they are cut, with the
    scribe allowance on the edges that meet the van's wall; without it the pieces fill the outer sizes.
    Raises JoineryError, with the reason and the choice it belongs to, for sizes that can't work. A kind
    without a shape of its own is made in the way its kind is made (`made_as`).
    Source: common practice, none to cite; each rule says so where it stands.
    """
    require_sound(unit)
    shape = SHAPES.get(unit.kind) or WAYS[unit.made_as]
    pieces, fronts = shape(unit)
    marked = tuple(scribed(piece, unit.outer, unit.walls, unit.scribe) for piece in pieces)
    parts = parts_of(marked, unit.outer)
    for part in parts:
        require_cuttable(part.name, part.board, part.length, part.width, grain=part.grain)
    return Derived(unit, marked, parts, fronts)
