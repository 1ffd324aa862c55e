"""The box of a drawer: sides, front and back between them, and a bottom inside."""

from __future__ import annotations

from .errors import JoineryError, mm
from .pieces import Board, Piece, Sizes

RUNNER = 130
"""Room for a runner on each side of a drawer, 13 mm. Common practice, no source."""

RUNNER_STEP = 500
"""Runners come in steps of 50 mm of depth. Common practice, no source."""

LEAST_BOX: Sizes = (1000, 1000, 400)


def drawer_box(at: Sizes, size: Sizes, board: Board, bottom: Board) -> list[Piece]:
    """The five pieces of a box of this outer size; refuses one too small to hold anything."""
    for words, wanted, least in zip(("wide", "deep", "high"), size, LEAST_BOX, strict=True):
        if wanted < least:
            raise JoineryError(
                f"A drawer's box would be {mm(wanted)} {words}; at least {mm(least)} is of use.",
                field="drawers",
            )
    x, y, z = at
    wide, deep, high = size
    t = board.thickness
    side = (t, deep, high)
    end = (wide - 2 * t, t, high)
    inner = (wide - 2 * t, deep - 2 * t, bottom.thickness)
    if inner[0] <= 0 or inner[1] <= 0 or bottom.thickness >= high:
        raise JoineryError(f"A drawer's box of {mm(wide)} leaves no room inside.", field="drawers")
    lies = "xy" if inner[0] >= inner[1] else "yx"
    return [
        Piece("drawer-side", "Drawer side", board, at, side, "yz", finish=("top",), meets_walls=False),
        Piece(
            "drawer-side",
            "Drawer side",
            board,
            (x + wide - t, y, z),
            side,
            "yz",
            finish=("top",),
            meets_walls=False,
        ),
        Piece(
            "drawer-end",
            "Drawer front and back",
            board,
            (x + t, y, z),
            end,
            "xz",
            finish=("top",),
            meets_walls=False,
        ),
        Piece(
            "drawer-end",
            "Drawer front and back",
            board,
            (x + t, y + deep - t, z),
            end,
            "xz",
            finish=("top",),
            meets_walls=False,
        ),
        Piece(
            "drawer-bottom",
            "Drawer bottom",
            bottom,
            (x + t, y + t, z),
            inner,
            lies,
            grain="any",
            meets_walls=False,
        ),
    ]


def box_in_bay(x: int, x_end: int, y: int, y_end: int, z: int, z_end: int) -> tuple[Sizes, Sizes]:
    """Where a drawer's box stands between the sides of a bay, and its size, runners taken off."""
    deep = (y_end - y - 100) // RUNNER_STEP * RUNNER_STEP
    return (x + RUNNER, y, z), (x_end - x - 2 * RUNNER, deep, z_end - z)
