"""What is seen of a unit from the front, cut through and from above, with the sizes a joiner wants on it.

Everything is in whole tenths of a millimetre; in a view x runs to the right and y up.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from .pieces import AXES, Piece
from .unit import Derived, Front

THIN = 20
"""Something whose depth is less than a twentieth of its height shows nothing when cut through."""

FLAT = 5
"""Something five times as deep as it is high is seen from above."""

Interval = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Shape:
    """A rectangle of a view. `look` is "board", "front", "strip", "hidden", "cut" or "rail"."""

    x: int
    y: int
    width: int
    height: int
    look: str


@dataclass(frozen=True, slots=True)
class Chain:
    """Dimensions in one line: on the `side` ("below", "left", "right"), the nearest row first."""

    side: str
    row: int
    spans: tuple[Interval, ...]


@dataclass(frozen=True, slots=True)
class View:
    """`opens` are the corners of the lines that show how a front opens, their middle one at its hinges.

    `hinges` are (x, y, turned, how far from the end), `handles` (x, y, turned); turned ones lie level.
    """

    title: str
    width: int
    height: int
    shapes: tuple[Shape, ...]
    chains: tuple[Chain, ...]
    opens: tuple[tuple[Interval, Interval, Interval], ...] = ()
    hinges: tuple[tuple[int, int, bool, int | None], ...] = ()
    handles: tuple[tuple[int, int, bool], ...] = ()


def views_of(derived: Derived) -> tuple[View, ...]:
    """The views that show a unit: its front or, where it is flat, its top; and a cut through it."""
    width, depth, height = derived.unit.outer
    first = from_above(derived) if height * FLAT <= depth else from_the_front(derived)
    if depth * THIN < height or depth * THIN < width or height * THIN < depth:
        return (first,)
    return first, cut_through(derived)


def from_the_front(derived: Derived) -> View:
    """The front: doors and drawers laid on, what is behind them hidden, hinges and handles."""
    unit, fronts = derived.unit, derived.fronts
    laid_on = {id(p) for p in derived.pieces if fronts and p.ends_at[1] <= unit.front_thickness}
    behind = [p for p in derived.pieces if id(p) not in laid_on]
    closed = bool(fronts) or any(p.key == "front" for p in behind)
    shapes = [_seen(p, "x", "z", "board") for p in sorted(behind, key=lambda p: -p.at[1])]
    on_top = [p for p in derived.pieces if id(p) in laid_on]
    shapes += [
        _seen(p, "x", "z", "strip" if p.board.is_length else "front")
        for p in sorted(on_top, key=lambda p: -p.at[1])
    ]
    if closed:
        shapes += [_seen(p, "x", "z", "hidden") for p in behind if _is_inside(p)]
    return View(
        title="From the front",
        width=unit.width,
        height=unit.height,
        shapes=tuple(shapes),
        chains=tuple(_front_chains(derived, behind)),
        opens=tuple(_opens(f) for f in fronts if f.opens == "door"),
        hinges=tuple(_hinges(fronts)),
        handles=tuple(_handle(f) for f in fronts if f.handle_at),
    )


def from_above(derived: Derived) -> View:
    """A flat thing, as it lies."""
    unit = derived.unit
    shapes = [_seen(p, "x", "y", "board") for p in sorted(derived.pieces, key=lambda p: p.ends_at[2])]
    chains = (Chain("below", 0, ((0, unit.width),)), Chain("left", 0, ((0, unit.depth),)))
    return View("From above, its front below", unit.width, unit.depth, tuple(shapes), chains)


def cut_through(derived: Derived) -> View:
    """A cut from front to back where it meets most pieces, seen from the left."""
    unit = derived.unit
    at = _best_cut(derived.pieces)
    cut = [p for p in derived.pieces if p.at[0] <= at < p.ends_at[0]]
    beyond = [p for p in derived.pieces if p.at[0] > at and p.thick == "x"]
    shapes = [_seen(p, "y", "z", "board") for p in sorted(beyond, key=lambda p: -p.at[0])]
    shapes += [_seen(p, "y", "z", "rail" if p.key == "rail" else "cut") for p in cut]
    chains = [
        Chain("below", 0, _clear_depth(cut, unit.depth)),
        Chain("below", 1, ((0, unit.depth),)),
        Chain("left", 0, ((0, unit.height),)),
        Chain("right", 0, _clear_heights(cut, unit.height)),
    ]
    return View(
        title=f"Cut through at {_mm(at)} mm from the left",
        width=unit.depth,
        height=unit.height,
        shapes=tuple(shapes),
        chains=tuple(chain for chain in chains if chain.spans),
    )


def _mm(tenths: int) -> str:
    return f"{tenths // 10}"


def _seen(piece: Piece, across: str, up: str, look: str) -> Shape:
    a, b = AXES.index(across), AXES.index(up)
    return Shape(piece.at[a], piece.at[b], piece.size[a], piece.size[b], look)


def _is_inside(piece: Piece) -> bool:
    of_a_drawer = piece.key.startswith("drawer-") and piece.key != "drawer-divider"
    return not of_a_drawer and piece.key not in ("back", "filler", "front")


def _front_chains(derived: Derived, behind: list[Piece]) -> Iterable[Chain]:
    unit, fronts = derived.unit, derived.fronts
    if fronts:
        columns = _apart((f.x, f.x + f.width) for f in fronts)
        first = _heights(fronts, min(f.x for f in fronts))
        last = _heights(fronts, max(f.x for f in fronts))
    else:
        cards = [(p.at[0], p.ends_at[0]) for p in behind if p.key == "card"]
        columns = tuple(sorted(cards)) or _clear(_uprights(behind))
        first = last = ()
    plinth = ((0, unit.plinth),) if unit.plinth else ()
    if first != last:
        yield Chain("right", 0, last)
    yield from _rows("below", columns, (0, unit.width))
    yield from _rows("left", (*plinth, *first), (0, unit.height))


def _rows(side: str, inner: tuple[Interval, ...], whole: Interval) -> Iterable[Chain]:
    """The chain of the inner sizes with the whole one beyond it; only that where they are the same."""
    if inner and inner != (whole,):
        yield Chain(side, 0, inner)
        yield Chain(side, 1, (whole,))
    else:
        yield Chain(side, 0, (whole,))


def _uprights(pieces: Iterable[Piece]) -> list[Interval]:
    found = {(p.at[0], p.ends_at[0]) for p in pieces if p.thick == "x" and not p.key.startswith("drawer")}
    return sorted(found)


def _clear(boards: list[Interval]) -> tuple[Interval, ...]:
    """What is free between boards."""
    return tuple((end, start) for (_, end), (start, _) in pairwise(boards) if start > end)


def _apart(spans: Iterable[Interval]) -> tuple[Interval, ...]:
    """Spans that don't lie over each other, narrow ones first taken."""
    found: list[Interval] = []
    for span in sorted(set(spans), key=lambda s: (s[1] - s[0], s)):
        if all(span[1] <= a or b <= span[0] for a, b in found):
            found.append(span)
    return tuple(sorted(found))


def _heights(fronts: Iterable[Front], x: int) -> tuple[Interval, ...]:
    return _apart((f.z, f.z + f.height) for f in fronts if f.x <= x < f.x + f.width)


def _opens(front: Front) -> tuple[Interval, Interval, Interval]:
    """Two lines from the edge that opens to the middle of the hinged edge."""
    x, z, x_end, z_end = front.x, front.z, front.x + front.width, front.z + front.height
    middle_x, middle_z = front.x + front.width // 2, front.z + front.height // 2
    if front.hinged == "right":
        return (x, z), (x_end, middle_z), (x, z_end)
    if front.hinged == "top":
        return (x, z), (middle_x, z_end), (x_end, z)
    if front.hinged == "bottom":
        return (x, z_end), (middle_x, z), (x_end, z_end)
    return (x_end, z), (x, middle_z), (x_end, z_end)


def _hinges(fronts: Iterable[Front]) -> Iterable[tuple[int, int, bool, int | None]]:
    """Every hinge; how far it is from the end is written at the first of equal doors."""
    written: set[tuple[int, int, str]] = set()
    for front in fronts:
        alike = (front.width, front.height, front.hinged)
        for along in front.hinges_at:
            words = None if alike in written else along
            if front.hinged in ("left", "right"):
                yield front.x + (front.width if front.hinged == "right" else 0), front.z + along, False, words
            else:
                yield front.x + along, front.z + (front.height if front.hinged == "top" else 0), True, words
        written.add(alike)


def _handle(front: Front) -> tuple[int, int, bool]:
    right, up = front.handle_at or (0, 0)
    return front.x + right, front.z + up, front.opens == "drawer" or front.hinged in ("top", "bottom")


def _best_cut(pieces: Iterable[Piece]) -> int:
    """Where a cut from front to back meets most pieces, as far to the left as can be."""
    rows = list(pieces)
    places = sorted({(p.at[0] + p.ends_at[0]) // 2 for p in rows if p.thick != "x"})
    return max(places or [0], key=lambda at: (sum(p.at[0] <= at < p.ends_at[0] for p in rows), -at))


def _clear_heights(cut: Iterable[Piece], height: int) -> tuple[Interval, ...]:
    """Between the level boards that are cut, from the floor to the top."""
    rows = [p for p in cut if p.thick == "z" and not p.key.startswith("drawer-b")]
    level = sorted({(p.at[2], p.ends_at[2]) for p in rows})
    return _clear([(0, 0), *level, (height, height)]) if level else ()


def _clear_depth(cut: Iterable[Piece], depth: int) -> tuple[Interval, ...]:
    """Between what stands at the front and the back."""
    upright = [p for p in cut if p.thick == "y" and not p.key.startswith(("drawer-e", "plinth"))]
    first = max((p.ends_at[1] for p in upright if p.at[1] < depth // 2 and _at_the_front(p)), default=0)
    last = min((p.at[1] for p in upright if p.at[1] >= depth // 2), default=depth)
    return ((first, last),) if (first, last) != (0, depth) and first < last else ()


def _at_the_front(piece: Piece) -> bool:
    fronts = ("door", "drawer-front", "drawer-upright", "drawer-rail")
    return piece.key.startswith(fronts) or piece.key == "front"
