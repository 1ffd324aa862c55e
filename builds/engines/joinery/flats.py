"""What is no cupboard: tops, door cards, the shelf over the cab, a cubicle, a drawer, a run of fronts."""

from __future__ import annotations

from .drawer import drawer_box
from .errors import JoineryError, mm
from .fronts import Opening, frame_of, grid_of, pieces_of, run_of_fronts
from .pieces import Piece
from .spacing import even_sizes, starts
from .unit import Front, ToMake

Made = tuple[list[Piece], tuple[Front, ...]]
LIP = 800
"""A lip of 80 mm keeps things on the shelf over the cab. Common practice, no source."""


def worktop(unit: ToMake) -> Made:
    """One top, every edge finished that no wall hides."""
    t = unit.board.thickness
    if unit.height < t:
        raise JoineryError(
            f"{unit.board.name} is {mm(t)} thick, more than {mm(unit.height)}.", field="height"
        )
    finish = tuple(f for f in ("front", "back", "left", "right") if f not in unit.walls)
    at, size = (0, 0, unit.height - t), (unit.width, unit.depth, t)
    return [Piece("top", "Top", unit.board, at, size, "xy", finish=finish)], ()


def door_cards(unit: ToMake) -> Made:
    """As many cards as bays, side by side with even gaps between them."""
    t = unit.board.thickness
    if unit.depth < t:
        raise JoineryError(f"{unit.board.name} is {mm(t)} thick, more than {mm(unit.depth)}.", field="depth")
    width, gaps = even_sizes(unit.width, unit.bays, unit.gap, ends=False, what="cards", field="bays")
    return [
        Piece("card", "Door card", unit.board, (x, 0, 0), (width, t, unit.height), "zx",
              finish=("left", "right", "top", "bottom"))
        for x in starts(0, width, gaps, ends=False)
    ], ()  # fmt: skip


def cab_shelf(unit: ToMake) -> Made:
    """A shelf through the whole width, ends standing on it and a lip along its front."""
    t = unit.board.thickness
    inner, high = unit.width - 2 * t, unit.height - t
    if inner <= 0 or high <= 0 or unit.depth <= t:
        raise JoineryError("Nothing is left between its ends.", field="width")
    pieces = [
        Piece("bottom", "Shelf", unit.board, (0, 0, 0), (unit.width, unit.depth, t), "xy", finish=("front",)),
        *(
            Piece("end", "End", unit.board, (x, 0, t), (t, unit.depth, high), "yz", finish=("front", "top"))
            for x in (0, unit.width - t)
        ),
        Piece(
            "lip", "Lip", unit.board, (t, 0, t), (inner, t, min(LIP, high)), "xz", finish=("top",), room=inner
        ),
    ]
    return pieces, ()


def cubicle(unit: ToMake) -> Made:
    """Panels for three walls, the back one between the others; with doors these close the fourth."""
    t, front = unit.board.thickness, unit.front_thickness
    inner = unit.width - 2 * t
    if inner <= 0 or unit.depth - front <= t:
        raise JoineryError("The panels leave no room between them.", field="width")
    side = (t, unit.depth - front, unit.height)
    pieces = [
        *(Piece("side", "Side panel", unit.board, (x, front, 0), side, "zy") for x in (0, unit.width - t)),
        Piece(
            "back",
            "Back panel",
            unit.board,
            (t, unit.depth - t, 0),
            (inner, t, unit.height),
            "zx",
            room=inner,
        ),
    ]
    if unit.drawers:
        raise JoineryError("A cubicle takes no drawers.", field="drawers")
    if unit.fronts == "none" or not unit.doors:
        return pieces, ()
    fronts = grid_of(unit, Opening(0, unit.width, unit.plinth, unit.height)).fronts
    return [*pieces, *pieces_of(unit, fronts)], fronts


def drawer(unit: ToMake) -> Made:
    """A drawer by itself: its box, and its front laid on unless that is made elsewhere."""
    fixed = unit.fronts != "none"
    t = (
        (unit.front_board.thickness + (unit.strip.thickness if unit.is_framed and unit.strip else 0))
        if fixed
        else 0
    )
    box = drawer_box((0, t, 0), (unit.width, unit.depth - t, unit.height), unit.board, unit.back_board)
    if not fixed:
        return box, ()
    whole = Front(
        "drawer-front-1", "Drawer front 1", "drawer", 0, 0, unit.width, unit.height,
        handle_at=(unit.width // 2, unit.height // 2),
        frame=frame_of(unit, unit.width, unit.height, "drawer front"),
    )  # fmt: skip
    return [*box, *pieces_of(unit, [whole])], (whole,)


def fronts(unit: ToMake) -> Made:
    """Doors and drawer fronts by themselves, in one row."""
    if unit.fronts == "none" or not (unit.doors or unit.drawers):
        raise JoineryError("A run of fronts needs doors.", field="doors")
    found = run_of_fronts(unit).fronts
    return pieces_of(unit, found), found
