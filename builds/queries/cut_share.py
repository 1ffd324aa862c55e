"""How far the parts of units are cut, and what of one sheet is whose."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from builds.models import CutSheet, Part
from builds.queries.cutting_list import cut_already


@dataclass(frozen=True)
class CutShare:
    """What share of a unit's parts, by area, is still to cut."""

    left: Fraction

    @property
    def all_cut(self) -> bool:
        return self.left == 0


def shares_to_cut(units: Iterable[int]) -> dict[int, CutShare]:
    """For each unit that has parts of boards, what of them is still to cut; two queries."""
    parts = Part.objects.filter(unit__in=list(units), material__form="sheet").select_related("unit")
    by_unit: dict[int, list[Part]] = defaultdict(list)
    for part in parts:
        by_unit[part.unit_id].append(part)
    cut = cut_already({part.unit.build_id for part in parts})
    return {unit: CutShare(_left(rows, cut)) for unit, rows in by_unit.items()}


def _left(parts: Iterable[Part], cut: Counter[tuple[int, int, int]]) -> Fraction:
    whole = left = 0
    for part in parts:
        short, long = sorted((part.length_tenths, part.width_tenths))
        area = short * long
        whole += area * part.count
        left += area * max(0, part.count - cut[part.pk, short, long])
    return Fraction(left, whole) if whole else Fraction(0)


def areas_on(sheet: CutSheet, what: str) -> dict[int, int]:
    """The area of a sheet's pieces by "unit" or "build", in square tenths."""
    areas: dict[int, int] = defaultdict(int)
    for piece in sheet.pieces:
        areas[piece[what]] += piece["length"] * piece["width"]
    return dict(areas)
