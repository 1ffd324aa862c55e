"""How far a unit is cut: plans that lay its parts out, sheets cut, and what was cut but fits no more."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from builds.models import CuttingPlan, Unit
from builds.queries.cutting_list import made_of, parts_of, units_cut
from builds.queries.sheet_drawing import size_words

Wanted = tuple[int, int, int, int, int]
"""A part as it is wanted: its id, its material's, how many, length and width in tenths."""


@dataclass(frozen=True)
class CutBoard:
    """A plan with sheets for this unit. `is_stale` tells that its parts are not those it was made of."""

    plan: int
    material: str
    sheets: int
    cut: int
    is_stale: bool


@dataclass(frozen=True)
class LoosePiece:
    """Pieces that were cut and that the parts do not ask for any more."""

    name: str
    size: str
    count: int


@dataclass(frozen=True)
class UnitCut:
    """`pieces` are those cut: by material, part, short and long side. `is_ticked`: cut as a whole."""

    boards: tuple[CutBoard, ...]
    pieces: Counter[tuple[int, int, int, int]]
    names: dict[int, str]
    is_ticked: bool

    @property
    def is_begun(self) -> bool:
        return self.is_ticked or bool(self.boards)

    @property
    def is_stale(self) -> bool:
        return any(board.is_stale for board in self.boards)

    def loose(self, wanted: Iterable[Wanted]) -> tuple[LoosePiece, ...]:
        """What was cut and these parts don't ask for."""
        left = Counter(self.pieces)
        for part, material, count, length, width in wanted:
            left[(material, part, *sorted((length, width)))] -= count
        return tuple(
            LoosePiece(self.names[part], f"{size_words(long, short)} mm", count)
            for (_, part, short, long), count in left.items()
            if count > 0
        )


NOT_CUT = UnitCut((), Counter(), {}, False)


def unit_cut(unit: Unit) -> UnitCut:
    """How far `unit` is cut; five queries."""
    plans = CuttingPlan.objects.filter(builds=unit.build_id).select_related("material")
    plans = [
        plan
        for plan in plans.prefetch_related("builds", "sheets").order_by("material__order", "pk")
        if any(_of_unit(sheet.pieces, unit) for sheet in plan.sheets.all())
    ]
    parts = parts_of({build.pk for plan in plans for build in plan.builds.all()}) if plans else {}
    pieces: Counter[tuple[int, int, int, int]] = Counter()
    names: dict[int, str] = {}
    boards = []
    for plan in plans:
        sheets = [sheet for sheet in plan.sheets.all() if _of_unit(sheet.pieces, unit)]
        for sheet in (sheet for sheet in sheets if sheet.cut_at):
            for piece in _of_unit(sheet.pieces, unit):
                key = (plan.material_id, piece["part"], *sorted((piece["length"], piece["width"])))
                pieces[key] += 1
                names[piece["part"]] = piece["name"]
        of_plan = [p for p in parts.get(plan.material, []) if p.unit.build in plan.builds.all()]
        cut = sum(sheet.cut_at is not None for sheet in sheets)
        stale = made_of(of_plan) != plan.made_of
        boards.append(CutBoard(plan.pk, plan.material.name, len(sheets), cut, stale))
    ticked = unit.pk in units_cut([unit.build_id])
    return UnitCut(tuple(boards), pieces, names, ticked)


def _of_unit(pieces: Iterable[dict], unit: Unit) -> list[dict]:
    return [piece for piece in pieces if piece.get("unit") == unit.pk and piece.get("part")]
