"""What is to be cut of one material for some builds, and from what: as the cutting engine is given it."""

from __future__ import annotations

import hashlib
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from builds.engines.cutting.measures import millimetres
from builds.engines.cutting.pieces import LeftoverLimit, SheetProblem, StockSheet
from builds.engines.cutting.pieces import Part as Piece
from builds.models import Build, CutSheet, Material, Offcut, Part, Shop, Task

FULL = "full"
CUT_TASKS = ("cut", "oil_top")
"""The standard tasks in which parts are cut from sheets."""

OFFCUT_SHARE = Decimal("0.25")
"""What an offcut costs the layout against its share of a full sheet: cheap, so that it is used up first."""


class NoSheetSize(ValueError):
    """The material has no size, so that nothing can be laid out on it."""


@dataclass(frozen=True)
class CuttingList:
    """Parts of one material still to be cut, the problem they make, and what the problem's keys stand for."""

    material: Material
    problem: SheetProblem
    parts: dict[str, Part]
    offcuts: dict[str, Offcut]
    made_of: str
    notes: tuple[str, ...] = field(default=())


def parts_of(builds: Iterable[Build | int]) -> dict[Material, list[Part]]:
    """The parts cut from sheets of these builds, by material; one query."""
    rows = Part.objects.filter(
        unit__build__in=builds, unit__removed_at=None, material__form="sheet"
    ).select_related("unit__build", "material")
    found: dict[Material, list[Part]] = defaultdict(list)
    for part in rows.order_by("material__order", "material__name", "unit__build", "unit__order", "order"):
        found[part.material].append(part)
    return dict(found)


def cut_already(builds: Iterable[Build | int]) -> Counter[tuple[int, int, int]]:
    """How many pieces of each part and size are cut, by (part, length, width); one query."""
    rows = CutSheet.objects.filter(cut_at__isnull=False, plan__builds__in=builds).distinct()
    return Counter(
        (piece["part"], *size)
        for pieces in rows.values_list("pieces", flat=True)
        for piece in pieces
        for size in [sorted((piece["length"], piece["width"]))]
        if piece.get("part")
    )


def units_cut(builds: Iterable[Build | int]) -> frozenset[int]:
    """Units whose cutting was ticked as a whole, so that none of their parts is still to cut; one query."""
    done = Task.objects.kept().filter(build__in=builds, standard__in=CUT_TASKS, state="done")
    return frozenset(done.exclude(unit=None).values_list("unit", flat=True))


def free_offcuts(material: Material, *, but: Iterable[int] = ()) -> list[Offcut]:
    """Offcuts that are there and that no sheet still to be cut takes, those in `but` not counted."""
    taken = CutSheet.objects.filter(cut_at=None, offcut__isnull=False).exclude(plan__in=list(but))
    rows = Offcut.objects.filter(material=material, state="there", width_mm__isnull=False)
    return list(rows.exclude(pk__in=taken.values("offcut")))


def made_of(parts: Iterable[Part]) -> str:
    """Changes whenever the parts do, in what matters at the saw."""
    rows = sorted(
        (p.pk, p.count, p.length_tenths, p.width_tenths, p.grain, p.run, p.run_place or 0) for p in parts
    )
    return hashlib.sha256(repr(rows).encode()).hexdigest()


def cutting_list(
    material: Material,
    parts: Sequence[Part],
    cut: Counter[tuple[int, int, int]],
    offcuts: Sequence[Offcut],
    shop: Shop,
    *,
    done: frozenset[int] = frozenset(),
) -> CuttingList:
    """The problem of cutting what of `parts` is not cut yet; of the units in `done` everything is.

    Raises NoSheetSize for a board without size.
    """
    if not material.length_mm or not material.width_mm:
        raise NoSheetSize(
            f"{material.name} has no sheet size, so nothing can be laid out on it. "
            "Write its length and width under The shop, materials."
        )
    trim = shop.sheet_trim_tenths
    left = {part: part.count - cut[_size_of(part)] for part in parts if part.unit_id not in done}
    wanted = {str(part.pk): part for part, count in left.items() if count > 0}
    usable = [o for o in offcuts if 10 * min(o.length_mm, o.width_mm or 0) > 2 * trim]
    longest = max([10 * material.length_mm, *(10 * o.length_mm for o in usable)]) - 2 * trim
    runs, notes = _runs(wanted, left, longest, shop.saw_kerf_tenths)
    problem = SheetProblem(
        parts=tuple(_piece(key, part, left[part]) for key, part in wanted.items()),
        stock=(_full(material), *(_offcut(o, material) for o in usable)),
        kerf_tenths=shop.saw_kerf_tenths,
        trim_tenths=trim,
        runs=runs,
        leftovers=LeftoverLimit(10 * shop.offcut_least_length_mm, 10 * shop.offcut_least_width_mm),
    )
    by_key = {_offcut_key(o): o for o in usable}
    return CuttingList(material, problem, wanted, by_key, made_of(parts), notes)


def _size_of(part: Part) -> tuple[int, int, int]:
    short, long = sorted((part.length_tenths, part.width_tenths))
    return part.pk, short, long


def _piece(key: str, part: Part, count: int) -> Piece:
    return Piece(key, part.length_tenths, part.width_tenths, count, part.grain == "any", part.name)


def _full(material: Material) -> StockSheet:
    length, width = 10 * (material.length_mm or 0), 10 * (material.width_mm or 0)
    return StockSheet(FULL, length, width, cost=material.price or Decimal(1))


def _offcut_key(offcut: Offcut) -> str:
    return f"offcut-{offcut.pk}"


def _offcut(offcut: Offcut, material: Material) -> StockSheet:
    length, width = 10 * offcut.length_mm, 10 * (offcut.width_mm or 0)
    full = Decimal(material.length_mm or 1) * (material.width_mm or 1) * 100
    cost = (material.price or Decimal(1)) * length * width / full * OFFCUT_SHARE
    cost = max(cost.quantize(Decimal("0.0001")), Decimal("0.0001"))
    return StockSheet(_offcut_key(offcut), length, width, count=1, cost=cost, is_offcut=True)


def _runs(
    wanted: dict[str, Part], left: dict[Part, int], longest: int, kerf: int
) -> tuple[tuple[tuple[str, ...], ...], tuple[str, ...]]:
    """Rows of fronts to cut from one strip each; a row that no strip can give is cut singly, with a note."""
    rows: dict[tuple[int, str], list[Part]] = defaultdict(list)
    for part in wanted.values():
        if part.run:
            rows[part.unit_id, part.run].append(part)
    runs, notes = [], []
    for row in rows.values():
        row.sort(key=lambda part: (part.run_place or 0, part.pk))
        length = sum((part.length_tenths + kerf) * left[part] for part in row) - kerf
        where = f"The row of {row[0].name.lower()} in {row[0].unit.name}, {row[0].unit.build.name},"
        if len({part.width_tenths for part in row}) > 1:
            notes.append(f"{where} differs in height, so its grain can’t run through: cut one by one.")
        elif length > longest:
            notes.append(
                f"{where} is {millimetres(length)} mm long, longer than any sheet: cut one by one, "
                "so its grain can’t run through."
            )
        else:
            runs.append(tuple(str(part.pk) for part in row for _ in range(left[part])))
    return tuple(runs), tuple(notes)
