"""One unit on its page: how it is made, its drawing, parts, what was changed by hand, mass and cutting."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from builds.engines.cutting.measures import millimetres
from builds.engines.joinery.errors import JoineryError
from builds.engines.joinery.pieces import PartMade, mass_kg
from builds.engines.joinery.unit import Derived
from builds.models import Making, Material, Part, Unit, UnitKind
from builds.queries.joinery import Boards, board_of, derived_or_why, kept_or_usual, kinds_by_key, part_mass_kg
from builds.queries.sheet_drawing import size_words
from builds.queries.unit_cut import NOT_CUT, LoosePiece, UnitCut, Wanted, unit_cut
from builds.queries.unit_drawing import UnitDrawing, unit_drawing

EDGES = {"near": "near", "far": "far", "left": "left end", "right": "right end"}
WORKED_OUT, CHANGED, BY_HAND = "worked out", "changed by hand", "added by hand"
NO_LONGER = "kept by hand; its unit no longer has it"
TENTH = Decimal("0.1")


@dataclass(frozen=True)
class PartLine:
    """A part as the table shows it. `drawn_as` is what it would be if taken back; "" where it is so."""

    pk: int
    number: int
    name: str
    count: int
    size: str
    grain: str
    edges: str
    scribe: str
    material: str
    mass_kg: Decimal | None
    origin: str
    drawn_as: str
    run: str
    note: str

    @property
    def can_go_back(self) -> bool:
        return self.origin in (CHANGED, NO_LONGER)


@dataclass(frozen=True)
class MassLine:
    """One material in the mass: how much of it, at what it weighs."""

    material: str
    amount: str
    by: str
    mass_kg: Decimal | None


@dataclass(frozen=True)
class UnitMass:
    total_kg: Decimal
    lines: tuple[MassLine, ...]
    unknown: int


@dataclass(frozen=True)
class UnitPage:
    """`why_not` says why it can't be made as chosen; then there is no drawing."""

    unit: Unit
    kind: str
    usual: str
    making: Making | None
    boards: Boards
    drawing: UnitDrawing | None
    why_not: str
    parts: tuple[PartLine, ...]
    taken_out: tuple[PartLine, ...]
    pieces: int
    mass: UnitMass
    cut: UnitCut
    loose: tuple[LoosePiece, ...]
    version: int

    @property
    def by_hand(self) -> int:
        return sum(line.origin != WORKED_OUT for line in self.parts) + len(self.taken_out)


def unit_page(unit: Unit) -> UnitPage:
    """The page of a unit; `unit` with its build and its making. Nine queries."""
    kinds, boards = kinds_by_key(), Boards.read()
    kind = kinds.get(unit.kind)
    making = kept_or_usual(unit, kinds, boards)
    derived = _derived(unit, making, kind, boards)
    rows = list(Part.ever.filter(unit=unit).select_related("material"))
    standing = [row for row in rows if not row.is_removed]
    made = {part.key: part for part in derived.parts} if isinstance(derived, Derived) else {}
    cut = unit_cut(unit) if rows else NOT_CUT
    return UnitPage(
        unit=unit,
        kind=kind.name if kind else unit.kind,
        usual=usual_words(kind),
        making=making,
        boards=boards,
        drawing=unit_drawing(derived, unit.name) if isinstance(derived, Derived) else None,
        why_not=derived.reason if isinstance(derived, JoineryError) else "",
        parts=tuple(_line(n, row, made) for n, row in enumerate(standing, 1)),
        taken_out=tuple(_line(0, row, made) for row in rows if row.is_removed),
        pieces=sum(row.count for row in standing),
        mass=unit_mass(standing),
        cut=cut,
        loose=cut.loose(wanted_of(standing)),
        version=making.version if making else 1,
    )


def drawing_of(unit: Unit) -> UnitDrawing | None:
    """The unit as it is made now, drawn; None where it can't be made. Two queries, `unit` with its making."""
    kinds, boards = kinds_by_key(), Boards.read()
    making = kept_or_usual(unit, kinds, boards)
    derived = _derived(unit, making, kinds.get(unit.kind), boards)
    return unit_drawing(derived, unit.name) if isinstance(derived, Derived) else None


def _derived(
    unit: Unit, making: Making | None, kind: UnitKind | None, boards: Boards
) -> Derived | JoineryError:
    if making is None or kind is None:
        return JoineryError("The shop no longer knows this kind of unit.")
    return derived_or_why(unit, making, kind, boards)


def usual_words(kind: UnitKind | None) -> str:
    """The sizes a kind usually has, "" where it doesn't say."""
    if kind is None or not kind.least_mm or not kind.most_mm:
        return ""
    names = ("wide", "deep", "high")
    rows = zip(kind.least_mm, kind.most_mm, names, strict=True)
    return ", ".join(f"{least:,} to {most:,} mm {name}" for least, most, name in rows)


def wanted_of(parts: Iterable[Part]) -> list[Wanted]:
    return [(p.pk, p.material_id, p.count, p.length_tenths, p.width_tenths) for p in parts]


def edges_words(edges: Sequence[str]) -> str:
    """Which edges, as the part lies on the saw."""
    if len(edges) == len(EDGES):
        return "all four"
    return ", ".join(words for edge, words in EDGES.items() if edge in edges)


def three_sizes(length: int, width: int, thickness: int) -> str:
    return f"{size_words(length, width)} × {millimetres(thickness)}"


def _line(number: int, row: Part, made: Mapping[str, PartMade]) -> PartLine:
    now = made.get(row.key)
    origin = BY_HAND if row.by_hand else CHANGED if row.is_changed else WORKED_OUT
    if origin == CHANGED and now is None:
        origin = NO_LONGER
    drawn = ""
    if now is not None and (row.is_changed or row.is_removed):
        drawn = f"{now.count} × {three_sizes(now.length, now.width, now.thickness)}, {now.board.name}"
    return PartLine(
        pk=row.pk,
        number=number,
        name=row.name,
        count=row.count,
        size=three_sizes(row.length_tenths, row.width_tenths, row.thickness_tenths),
        grain=row.get_grain_display(),
        edges=edges_words(row.finished_edges),
        scribe=f"{millimetres(row.scribe_tenths)} mm {edges_words(row.scribe_edges)}"
        if row.scribe_tenths
        else "",
        material=row.material.name,
        mass_kg=part_mass_kg(row),
        origin=origin,
        drawn_as=drawn,
        run=f"{row.run}, {row.run_place}" if row.run and row.run_place else row.run,
        note=row.note,
    )


def unit_mass(parts: Sequence[Part]) -> UnitMass:
    """Mass of the parts as they are cut, by material, with what it is reckoned from."""
    by_material: dict[Material, list[Part]] = defaultdict(list)
    for part in parts:
        by_material[part.material].append(part)
    masses = [part_mass_kg(part) for part in parts]
    return UnitMass(
        total_kg=sum((m for m in masses if m is not None), Decimal(0)).quantize(TENTH),
        lines=tuple(_mass_line(material, rows) for material, rows in by_material.items()),
        unknown=masses.count(None),
    )


def _mass_line(material: Material, parts: Sequence[Part]) -> MassLine:
    board = board_of(material)
    masses = [part_mass_kg(part) for part in parts]
    known = [m for m in masses if m is not None]
    if board.is_length and board.kg_per_m is not None:
        amount = f"{sum(p.length_tenths * p.count for p in parts) / 10000:.2f} m"
        by = f"{board.kg_per_m.normalize():f} kg a metre"
    else:
        amount = f"{sum(p.length_tenths * p.width_tenths * p.count for p in parts) / 1e8:.2f} m²"
        by = f"{board.density_kg_m3} kg/m³" if board.density_kg_m3 else "density not known"
    total = sum(known, Decimal(0)).quantize(Decimal("0.01")) if len(known) == len(masses) else None
    return MassLine(material.name, amount, by, total)


@dataclass(frozen=True)
class PartChange:
    """A part that would come, go or change: what it is and what it would be, "" where there is none."""

    name: str
    before: str
    after: str


@dataclass(frozen=True)
class UnitTrial:
    """What other sizes and choices would do, nothing kept."""

    drawing: UnitDrawing
    changes: tuple[PartChange, ...]
    kept_by_hand: int
    mass_kg: Decimal
    mass_before_kg: Decimal
    cut: UnitCut
    loose: tuple[LoosePiece, ...]


def unit_trial(unit: Unit, derived: Derived, boards: Boards) -> UnitTrial:
    """Sets what a unit would come to beside its parts as they are; parts changed by hand stay."""
    rows = list(Part.ever.filter(unit=unit).select_related("material"))
    by_hand = {row.key for row in rows if row.by_hand or row.is_changed or row.is_removed}
    standing = [row for row in rows if not row.is_removed]
    staying = [row for row in standing if row.key in by_hand]
    made = [part for part in derived.parts if part.key not in by_hand]
    ids = {row.key: row.pk for row in rows}
    cut = unit_cut(unit) if rows else NOT_CUT
    after = [
        (ids.get(p.key, 0), getattr(boards.called(p.board.key), "pk", 0), p.count, p.length, p.width)
        for p in made
    ]
    masses = [mass_kg(p.board, p.length, p.width, p.thickness, p.count) for p in made]
    of_hand = sum((m for row in staying if (m := part_mass_kg(row)) is not None), Decimal(0))
    return UnitTrial(
        drawing=unit_drawing(derived, unit.name),
        changes=tuple(_changes([row for row in standing if row.key not in by_hand], made)),
        kept_by_hand=len(by_hand),
        mass_kg=(of_hand + sum((m for m in masses if m is not None), Decimal(0))).quantize(TENTH),
        mass_before_kg=unit_mass(standing).total_kg,
        cut=cut,
        loose=cut.loose([*wanted_of(staying), *after]),
    )


def _changes(before: Sequence[Part], after: Sequence[PartMade]) -> Iterable[PartChange]:
    old = {
        row.key: (
            row.name,
            _words(row.count, row.length_tenths, row.width_tenths, row.thickness_tenths, row.material.name),
        )
        for row in before
    }
    for part in after:
        name, was = old.pop(part.key, (part.name, ""))
        words = _words(part.count, part.length, part.width, part.thickness, part.board.name)
        if was != words:
            yield PartChange(name, was, words)
    for name, was in old.values():
        yield PartChange(name, was, "")


def _words(count: int, length: int, width: int, thickness: int, material: str) -> str:
    return f"{count} × {three_sizes(length, width, thickness)}, {material}"
