"""A unit of a build as the joinery engine takes it, with the boards of the shop."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from builds.engines.joinery.derive import derive
from builds.engines.joinery.errors import JoineryError
from builds.engines.joinery.pieces import Board, mass_kg
from builds.engines.joinery.unit import Derived, ToMake
from builds.engines.joinery.usual import usual_choices
from builds.models import Build, Making, Material, Part, Unit, UnitKind

TUBE = "tube25"
PLAIN = (
    "has_back", "inside", "bays", "shelves", "fronts", "doors", "drawers", "hinges", "front_grain",
)  # fmt: skip
TENTHS = (
    "plinth", "gap", "drawer_front", "strip_width", "rail_width", "scribe", "hinge_from", "handle_from",
    "handle_height",
)  # fmt: skip
WALLS = ("back", "left", "right")


class Boards:
    """What parts can be cut from, read once: sheets and lengths by their id and by their key."""

    def __init__(self, rows: list[Material]) -> None:
        self._by_pk = {row.pk: row for row in rows}
        self._by_key = {row.key: row for row in rows}

    @classmethod
    def read(cls) -> Boards:
        return cls(list(Material.objects.filter(form__in=("sheet", "length"))))

    def of(self, pk: int | None) -> Material | None:
        return self._by_pk.get(pk) if pk else None

    def choices(self, *, lengths: bool) -> list[tuple[str | int, str]]:
        """What may be chosen: sheets, or lengths and none; of what was withdrawn nothing."""
        form = "length" if lengths else "sheet"
        rows = [(row.pk, row.name) for row in self._by_pk.values() if row.form == form and not row.withdrawn]
        return [("", "none"), *rows] if lengths else rows

    def called(self, key: str) -> Material | None:
        return self._by_key.get(key) if key else None


def board_of(material: Material) -> Board:
    """A material as the engine knows it, in tenths of a millimetre."""
    return Board(
        key=material.key,
        name=material.name,
        thickness=round((material.thickness_mm or 0) * 10),
        length=material.length_mm * 10 if material.length_mm else None,
        width=material.width_mm * 10 if material.width_mm else None,
        density_kg_m3=material.density_kg_m3,
        kg_per_m=material.unit_mass_kg if material.form == "length" and material.unit == "m" else None,
        is_length=material.form == "length",
    )


def usual_making(unit: Unit, kind: UnitKind, boards: Boards, *, fronts_elsewhere: bool) -> Making:
    """The choices to start from, not kept yet."""
    usual = usual_choices(kind.key, kind.made_as, unit.width_mm * 10, fronts_elsewhere=fronts_elsewhere)
    board = boards.called(kind.board)
    making = Making(
        unit=unit,
        board=board,
        back_board=boards.called(usual.back_board) or board,
        front_board=boards.called(usual.front_board) or board,
        strip=boards.called(usual.strip),
        plinth_tenths=usual.plinth,
        **{name: getattr(usual, name) for name in PLAIN},
    )
    for wall in WALLS:
        setattr(making, f"wall_{wall}", wall in usual.walls)
    return making


def fronts_elsewhere(build: Build, kinds: Mapping[str, UnitKind]) -> bool:
    """Whether the van's fronts are a unit of their own."""
    return any(kinds[u.kind].made_as == "fronts" for u in build.units.all() if u.kind in kinds)


def kept_or_usual(unit: Unit, kinds: Mapping[str, UnitKind], boards: Boards) -> Making | None:
    """The unit's choices as kept, else the usual ones, not kept yet; None for a kind no longer known."""
    found = getattr(unit, "making", None)
    if found is not None or unit.kind not in kinds:
        return found
    elsewhere = fronts_elsewhere(unit.build, kinds)
    return usual_making(unit, kinds[unit.kind], boards, fronts_elsewhere=elsewhere)


def to_make(unit: Unit, making: Making, kind: UnitKind, boards: Boards) -> ToMake:
    """The unit as the engine takes it. Raises JoineryError where a board is missing or has no thickness."""
    board = boards.of(making.board_id)
    if board is None:
        raise JoineryError("Choose the board it is made of.", field="board")
    back, front = boards.of(making.back_board_id) or board, boards.of(making.front_board_id) or board
    strip, tube = boards.of(making.strip_id), boards.called(TUBE)
    return ToMake(
        kind=unit.kind,
        made_as=kind.made_as,
        width=unit.width_mm * 10,
        depth=unit.depth_mm * 10,
        height=unit.height_mm * 10,
        board=_thick(board, "board"),
        back_board=_thick(back, "back_board"),
        front_board=_thick(front, "front_board"),
        strip=_thick(strip, "strip") if strip and making.fronts == "framed" else None,
        rail=_thick(tube, "inside") if tube and making.inside == "rail" else None,
        walls=frozenset(wall for wall in WALLS if getattr(making, f"wall_{wall}")),
        **{name: getattr(making, name) for name in PLAIN},
        **{name: getattr(making, f"{name}_tenths") for name in TENTHS},
    )


def _thick(material: Material, field: str) -> Board:
    if not material.thickness_mm:
        raise JoineryError(f"{material.name} has no thickness; give it one among the materials.", field=field)
    return board_of(material)


def derived_or_why(unit: Unit, making: Making, kind: UnitKind, boards: Boards) -> Derived | JoineryError:
    """What the unit comes to, or why it can't be made like that."""
    try:
        return derive(to_make(unit, making, kind, boards))
    except JoineryError as error:
        return error


def part_mass_kg(part: Part) -> Decimal | None:
    """Mass of all pieces of a part, by its sizes and its material; `part` with its material."""
    board = board_of(part.material)
    return mass_kg(board, part.length_tenths, part.width_tenths, part.thickness_tenths, part.count)


def mass_of_parts(parts: list[Part]) -> tuple[Decimal, int]:
    """Mass of these parts in kilograms, and how many of them have no known mass."""
    masses = [part_mass_kg(part) for part in parts]
    return sum((m for m in masses if m is not None), Decimal(0)), masses.count(None)


def kinds_by_key() -> Mapping[str, UnitKind]:
    return {kind.key: kind for kind in UnitKind.objects.all()}
