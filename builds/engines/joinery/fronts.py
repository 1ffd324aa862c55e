"""Doors and drawer fronts: their grid with even gaps, frames, hinges, handles and grain-matched runs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .errors import JoineryError, mm
from .pieces import Board, Piece
from .spacing import even_sizes, starts
from .unit import FRAME_LEAST, Front, ToMake

TALL = 12000
"""Doors over 1.2 m have their handle at a height of its own. Usual are hinges 100 mm from the ends, handles
40 mm in, on tall doors 1 m up; on short doors both come nearer. Common practice, no source."""

HINGES_UP_TO = ((9000, 2), (16000, 3))
"""Two hinges up to 900 mm, three up to 1.6 m, four above. Common practice, no source."""

TRIMS, KERF = 200, 40
"""What a strip loses before a run is cut from it: 10 mm at each end and 4 mm a cut."""

OPPOSITE = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}
ALL_ROUND = ("left", "right", "top", "bottom")


@dataclass(frozen=True)
class Opening:
    """What the fronts of a unit cover: from `x` to `x_end` and from `z` to `z_end`."""

    x: int
    x_end: int
    z: int
    z_end: int


@dataclass(frozen=True)
class Grid:
    """Columns of equal width with the middles of the gaps between them, and the fronts in them."""

    columns: tuple[tuple[int, int], ...]
    middles: tuple[int, ...]
    fronts: tuple[Front, ...]
    drawers_down_to: int | None = None


def grid_of(unit: ToMake, opening: Opening) -> Grid:
    """Lays doors and drawers over an opening, the gaps between them and to the ends even.

    Drawers fill the last of several bays; with one bay they lie over the doors.
    """
    columns, gaps = _columns(unit, opening)
    middles = tuple(x + width + gap // 2 for (x, width), gap in zip(columns[:-1], gaps[1:-1], strict=True))
    if unit.bays > 1 and unit.drawers:
        doors = _doors(unit, columns[:-1], opening.z, opening.z_end)
        drawers = _drawers(unit, columns[-1], opening.z, opening.z_end)
        return Grid(tuple(columns), middles, (*doors, *drawers))
    if unit.drawers and unit.doors:
        low = opening.z_end - unit.drawers * (unit.drawer_front + unit.gap)
        drawers = _drawers(unit, columns[0], low - unit.gap, opening.z_end)
        doors = _doors(unit, columns, opening.z, low)
        return Grid(tuple(columns), middles, (*doors, *drawers), drawers_down_to=low)
    if unit.drawers:
        return Grid(tuple(columns), middles, _drawers(unit, columns[0], opening.z, opening.z_end))
    return Grid(tuple(columns), middles, _doors(unit, columns, opening.z, opening.z_end))


def _columns(unit: ToMake, opening: Opening) -> tuple[list[tuple[int, int]], list[int]]:
    width, gaps = even_sizes(
        opening.x_end - opening.x, unit.bays, unit.gap, ends=True, what="bays", field="bays"
    )
    return [(x, width) for x in starts(opening.x, width, gaps, ends=True)], gaps


def _doors(unit: ToMake, columns: Sequence[tuple[int, int]], low: int, high: int) -> tuple[Front, ...]:
    if not unit.doors:
        return ()
    many, rest = divmod(unit.doors, len(columns))
    if rest:
        raise JoineryError(
            f"{unit.doors} doors can't be shared evenly by {len(columns)} bays.", field="doors"
        )
    height = _height(high - low - 2 * unit.gap, "doors")
    found: list[Front] = []
    for x, column in columns:
        width, gaps = even_sizes(column, many, unit.gap, ends=False, what="doors", field="doors")
        found += [
            _door(unit, len(found) + n, at, low + unit.gap, width, height)
            for n, at in enumerate(starts(x, width, gaps, ends=False))
        ]
    return tuple(found)


def _door(unit: ToMake, n: int, x: int, z: int, width: int, height: int) -> Front:
    hinged = unit.hinges
    if hinged == "pairs":
        hinged = "right" if n % 2 else "left"
    return Front(
        key=f"door-{n + 1}",
        name=f"Door {n + 1}",
        opens="door",
        x=x,
        z=z,
        width=width,
        height=height,
        hinged=hinged,
        hinges_at=hinges_at(height if hinged in ("left", "right") else width, unit.hinge_from),
        handle_at=_handle_at(unit, hinged, width, height),
        frame=frame_of(unit, width, height, "door"),
    )


def _drawers(unit: ToMake, column: tuple[int, int], low: int, high: int) -> tuple[Front, ...]:
    """Drawer fronts from the top down."""
    x, width = column
    height, gaps = even_sizes(high - low, unit.drawers, unit.gap, ends=True, what="drawers", field="drawers")
    places = list(reversed(starts(low, height, gaps, ends=True)))
    return tuple(
        Front(
            key=f"drawer-front-{n}",
            name=f"Drawer front {n}",
            opens="drawer",
            x=x,
            z=z,
            width=width,
            height=height,
            handle_at=(width // 2, height // 2),
            frame=frame_of(unit, width, height, "drawer front"),
        )
        for n, z in enumerate(places, 1)
    )


def _height(height: int, what: str) -> int:
    if height <= 0:
        raise JoineryError(f"The {what} would be {mm(height)} high.", field="height")
    return height


def frame_of(unit: ToMake, width: int, height: int, what: str) -> tuple[int, int]:
    """Width of a frame's uprights and rails, (0, 0) for a plain board; refuses one that leaves nothing."""
    if not unit.is_framed:
        return 0, 0
    for size, strip, field in (
        (width, unit.strip_width, "strip_width"),
        (height, unit.rail_width, "rail_width"),
    ):
        if size - 2 * strip < FRAME_LEAST:
            raise JoineryError(
                f"A frame of {mm(strip)} leaves {mm(size - 2 * strip)} of a {what} of {mm(size)}; "
                f"it should leave at least {mm(FRAME_LEAST)}.",
                field=field,
            )
    return unit.strip_width, unit.rail_width


def hinges_at(edge: int, from_end: int = 1000) -> tuple[int, ...]:
    """Where the hinges sit along an edge: the outer two so far from its ends, others evenly between.

    On a short edge they sit a fifth of it from the ends. Source: common practice, none to cite; see
    HINGES_UP_TO.
    """
    many = next((count for up_to, count in HINGES_UP_TO if edge <= up_to), 4)
    first = min(from_end, edge // 5)
    return tuple(first + n * (edge - 2 * first) // (many - 1) for n in range(many))


def _handle_at(unit: ToMake, hinged: str, width: int, height: int) -> tuple[int, int]:
    from_side, from_end = min(unit.handle_from, width // 4), min(unit.handle_from, height // 4)
    if hinged in ("top", "bottom"):
        return width // 2, from_end if hinged == "top" else height - from_end
    up = min(unit.handle_height, height - from_end) if height > TALL else height - from_end
    return (width - from_side if hinged == "left" else from_side), up


def pieces_of(unit: ToMake, fronts: Sequence[Front]) -> list[Piece]:
    """The boards of fronts that are made here, with the strips of their frames before them."""
    if unit.fronts == "none":
        return []
    runs = _runs(unit, fronts)
    found = []
    for front in fronts:
        run, place = runs.get(front.key, ("", None))
        found.append(_board(unit, front, run, place))
        if unit.is_framed and unit.strip is not None:
            found += _strips(unit.strip, front)
    return found


def _board(unit: ToMake, front: Front, run: str, place: int | None) -> Piece:
    stands_back = unit.strip.thickness if unit.is_framed and unit.strip else 0
    in_run = bool(run)
    door = "Door" if front.opens == "door" else "Drawer front"
    return Piece(
        key=front.key if in_run else door.lower().replace(" ", "-"),
        name=front.name if in_run else door,
        board=unit.front_board,
        at=(front.x, stands_back, front.z),
        size=(front.width, unit.front_board.thickness, front.height),
        lies="xz" if unit.front_grain == "across" else "zx",
        finish=ALL_ROUND,
        run=run,
        run_place=place,
        meets_walls=False,
    )


def _strips(strip: Board, front: Front) -> list[Piece]:
    upright, rail = front.frame
    between = front.width - 2 * upright
    kind = "door" if front.opens == "door" else "drawer"
    tall, across = (upright, strip.thickness, front.height), (between, strip.thickness, rail)
    sides = [(front.x, 0, front.z), (front.x + front.width - upright, 0, front.z)]
    ends = [(front.x + upright, 0, front.z), (front.x + upright, 0, front.z + front.height - rail)]
    uprights = [
        Piece(f"{kind}-upright", f"Frame upright, {kind}", strip, at, tall, "zx", meets_walls=False)
        for at in sides
    ]
    rails = [
        Piece(f"{kind}-rail", f"Frame rail, {kind}", strip, at, across, "xz", meets_walls=False)
        for at in ends
    ]
    return uprights + rails


def _runs(unit: ToMake, fronts: Sequence[Front]) -> dict[str, tuple[str, int]]:
    """Fronts side by side along the grain, in the strips they are cut from, each in its order.

    With the grain across the doors of a row make runs, with the grain up a stack of drawers; a run that
    is longer than its board is cut from several strips.
    """
    across = unit.front_grain == "across"
    opens = "door" if across else "drawer"
    row = [front for front in fronts if front.opens == opens]
    strips = _strips_of([f.width if across else f.height for f in row], unit.front_board.length)
    found = {}
    taken = 0
    for number, many in enumerate(strips, 1):
        if many > 1:
            for place in range(many):
                found[row[taken + place].key] = (f"{'Row' if across else 'Stack'} {number}", place + 1)
        taken += many
    return found


def _strips_of(sizes: Sequence[int], board: int | None) -> list[int]:
    """How many fronts each strip gives, as many to a strip as its length holds."""
    found: list[int] = []
    used = 0
    for size in sizes:
        if found and (board is None or used + KERF + size <= board - TRIMS):
            found[-1] += 1
            used += KERF + size
        else:
            found.append(1)
            used = size
    return found


def run_of_fronts(unit: ToMake) -> Grid:
    """A run of doors by themselves over their whole width and height."""
    if unit.front_thickness > unit.depth:
        raise JoineryError(
            f"Fronts of these boards are {mm(unit.front_thickness)} thick, more than {mm(unit.depth)}.",
            field="depth",
        )
    return grid_of(unit, Opening(0, unit.width, 0, unit.height))
