"""Boards, pieces in their places, and the parts that equal pieces make together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal

from .errors import JoineryError, mm

AXES = "xyz"
FACES = {
    "left": ("x", 0), "right": ("x", 1), "front": ("y", 0), "back": ("y", 1),
    "bottom": ("z", 0), "top": ("z", 1),
}  # fmt: skip
LEAST = 50
"""Nothing shorter or narrower than 5 mm is cut. Common practice, no source."""

Sizes = tuple[int, int, int]
Alike = tuple[object, ...]


@dataclass(frozen=True, slots=True)
class Board:
    """What a part is cut from: a sheet, or with `is_length` a strip, batten or tube.

    `length` and `width` are those bought, None where not known; a part fits or is refused by them.
    """

    key: str
    name: str
    thickness: int
    length: int | None = None
    width: int | None = None
    density_kg_m3: int | None = None
    kg_per_m: Decimal | None = None
    is_length: bool = False


@dataclass(frozen=True, slots=True)
class Piece:
    """One cut piece where it stands in its unit.

    `at` is its left front lower corner, `size` its extent along x, y and z. `lies` names the axes of its
    length and width, "zy" for an upright side. `finish` and `scribe` are faces: "front", "left" ...
    `is_inside` pieces stand between the sides; `room` is what those leave along x.
    """

    key: str
    name: str
    board: Board
    at: Sizes
    size: Sizes
    lies: str
    grain: str = "along"
    finish: tuple[str, ...] = ()
    scribe: tuple[str, ...] = ()
    scribe_tenths: int = 0
    meets_walls: bool = True
    run: str = ""
    run_place: int | None = None
    room: int | None = None

    @property
    def thick(self) -> str:
        """The axis along which it is as thick as its board."""
        return next(axis for axis in AXES if axis not in self.lies)

    def extent(self, axis: str) -> int:
        return self.size[AXES.index(axis)]

    @property
    def ends_at(self) -> Sizes:
        x, y, z = (a + s for a, s in zip(self.at, self.size, strict=True))
        return x, y, z


@dataclass(frozen=True, slots=True)
class PartMade:
    """`count` equal pieces as they are cut, scribe allowance included.

    Edges are named as the part lies on the saw, its length from left to right: "near", "far", "left",
    "right". `most_length` and `most_width` are what its unit has room for.
    """

    key: str
    name: str
    count: int
    length: int
    width: int
    thickness: int
    board: Board
    grain: str
    finished_edges: tuple[str, ...]
    scribe_tenths: int
    scribe_edges: tuple[str, ...]
    run: str
    run_place: int | None
    most_length: int
    most_width: int


def scribed(piece: Piece, outer: Sizes, walls: frozenset[str], allowance: int) -> Piece:
    """Marks the edges of a piece that meet a wall of the van; a broad side on a wall is not scribed."""
    if not allowance or not piece.meets_walls:
        return piece
    meets = []
    for face in sorted(walls):
        axis, is_far = FACES[face]
        n = AXES.index(axis)
        touches = piece.ends_at[n] == outer[n] if is_far else piece.at[n] == 0
        if touches and axis != piece.thick:
            meets.append(face)
    return replace(piece, scribe=tuple(meets), scribe_tenths=allowance if meets else 0)


def parts_of(pieces: Iterable[Piece], outer: Sizes) -> tuple[PartMade, ...]:
    """Gathers equal pieces into parts, in the order they come.

    Pieces of one key that differ become parts of their own: "shelf", "shelf-2" ...
    """
    found: dict[Alike, int] = {}
    kinds: dict[str, int] = {}
    made: dict[Alike, PartMade] = {}
    for piece in pieces:
        part = _part(piece, outer)
        alike = (piece.key, part.length, part.width, part.board.key, part.finished_edges, part.scribe_edges)
        found[alike] = found.get(alike, 0) + 1
        if alike not in made:
            kinds[piece.key] = number = kinds.get(piece.key, 0) + 1
            again = number > 1
            made[alike] = replace(
                part,
                key=f"{part.key}-{number}" if again else part.key,
                name=f"{part.name} {number}" if again else part.name,
            )
    return tuple(replace(part, count=found[alike]) for alike, part in made.items())


def _part(piece: Piece, outer: Sizes) -> PartMade:
    along, across = piece.lies[0], piece.lies[1]
    allowance = {along: 0, across: 0}
    for face in piece.scribe:
        allowance[FACES[face][0]] += piece.scribe_tenths
    room = {axis: outer[AXES.index(axis)] for axis in AXES}
    if piece.room is not None:
        room["x"] = piece.room
    return PartMade(
        key=piece.key,
        name=piece.name,
        count=1,
        length=piece.extent(along) + allowance[along],
        width=piece.extent(across) + allowance[across],
        thickness=piece.board.thickness,
        board=piece.board,
        grain=piece.grain,
        finished_edges=_edges(piece, piece.finish),
        scribe_tenths=piece.scribe_tenths,
        scribe_edges=_edges(piece, piece.scribe),
        run=piece.run,
        run_place=piece.run_place,
        most_length=room[along] + allowance[along],
        most_width=room[across] + allowance[across],
    )


def _edges(piece: Piece, faces: Iterable[str]) -> tuple[str, ...]:
    names = {(piece.lies[0], 0): "left", (piece.lies[0], 1): "right",
             (piece.lies[1], 0): "near", (piece.lies[1], 1): "far"}  # fmt: skip
    order = ("near", "far", "left", "right")
    return tuple(sorted((names[FACES[f]] for f in faces if FACES[f] in names), key=order.index))


def require_cuttable(name: str, board: Board, length: int, width: int, *, grain: str = "along") -> None:
    """Refuses a part too small to cut, or larger than anything its board is bought in."""
    for words, size in (("long", length), ("wide", width)):
        if size < LEAST:
            raise JoineryError(f"{name} would be {mm(size)} {words}; at least {mm(LEAST)} can be cut.")
    if board.length is None:
        return
    fits = length <= board.length and (board.width is None or width <= board.width)
    if not fits and grain == "any" and board.width is not None and not board.is_length:
        fits = length <= board.width and width <= board.length
    if fits:
        return
    bought = f"{mm(board.length)} × {mm(board.width)}" if board.width else mm(board.length)
    grain_words = ", its length along the grain" if grain == "along" and not board.is_length else ""
    raise JoineryError(
        f"{name} would be {mm(length)} × {mm(width)}{grain_words}: "
        f"larger than {board.name} is bought, {bought}."
    )


def mass_kg(board: Board, length: int, width: int, thickness: int, count: int = 1) -> Decimal | None:
    """Mass of `count` equal parts from the board's density, or a length's mass a metre; None where not known.

    A length ripped narrower than it is bought weighs its share.
    """
    if board.is_length and board.kg_per_m is not None:
        share = Decimal(min(width, board.width)) / board.width if board.width else Decimal(1)
        found = Decimal(length) / 10000 * board.kg_per_m * share * count
    elif board.density_kg_m3:
        found = Decimal(length) * width * thickness / 10**12 * board.density_kg_m3 * count
    else:
        return None
    return found.quantize(Decimal("0.001"), ROUND_HALF_UP)
