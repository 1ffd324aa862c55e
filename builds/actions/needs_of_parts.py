"""What the parts of a unit need of their boards and strips; the reckoning by area gives way to it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

from builds.models import Build, Material, Part, StandardNeed

RULE = "its parts, as they are cut"
THOUSANDTH = Decimal("0.001")

Rows = list[StandardNeed]


def parts_by_unit(build: Build) -> dict[int, list[Part]]:
    """The standing parts of each unit of a build; one query."""
    found: dict[int, list[Part]] = defaultdict(list)
    rows = Part.objects.filter(unit__build=build, unit__removed_at=None).select_related("material")
    for part in rows:
        found[part.unit_id].append(part)
    return dict(found)


def standards_beside(rows: Iterable[StandardNeed], parts: Sequence[Part]) -> Rows:
    """The standard needs of a unit that its parts do not answer: no sheets, and nothing they are cut from."""
    cut_from = {part.material_id for part in parts}
    return [row for row in rows if row.material.form != "sheet" and row.material.pk not in cut_from]


def measures_of_parts(parts: Sequence[Part], coated_faces: int) -> Mapping[str, float]:
    """The measures that the parts know better than the outer box: the board in it and what is coated."""
    area = sum(_area_m2(part) for part in parts if part.material.form == "sheet")
    return {"board_m2": float(area), "coated_m2": float(area) * coated_faces}


def quantities_of(parts: Sequence[Part]) -> dict[Material, Decimal]:
    """How much of each material the parts are, in the unit it is counted in.

    What is sold by the piece counts as a share of a piece, by area or by length.
    """
    found: dict[Material, Decimal] = defaultdict(Decimal)
    for part in parts:
        found[part.material] += _quantity(part)
    return {material: amount.quantize(THOUSANDTH) for material, amount in found.items()}


def _quantity(part: Part) -> Decimal:
    material = part.material
    if material.form == "length":
        run = Decimal(part.length_tenths) * part.count / 10000
        return run if material.unit == "m" else run * 1000 / (material.length_mm or 1000)
    area = _area_m2(part)
    if material.unit == "m**2":
        return area
    sheet = Decimal(material.length_mm or 0) * (material.width_mm or 0) / 10**6
    return area / sheet if sheet else Decimal(part.count)


def _area_m2(part: Part) -> Decimal:
    return Decimal(part.length_tenths) * part.width_tenths * part.count / 10**8


def first_used_in(rows: Iterable[StandardNeed], material: Material) -> str:
    """The standard task in which a unit's boards are used first: this one's, any board's, or cutting."""
    boards = [row for row in rows if row.material.form in ("sheet", "length")]
    same = [row.used_in for row in boards if row.material.pk == material.pk]
    return next(iter([*same, *(row.used_in for row in boards if row.material.form == "sheet")]), "cut")
