"""What is cut for which builds: the plans with their sheets, what is not laid out, and how a search goes."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from builds.models import Build, CutSheet, CuttingPlan, Material, Part
from builds.queries.cutting_list import cut_already, made_of, parts_of, units_cut
from builds.queries.sheet_drawing import SheetDrawing, sheet_drawing, size_words


@dataclass(frozen=True)
class PlanSheet:
    """One sheet of a plan. `stock` says what it is cut from, `vans` and `units` what for."""

    pk: int
    number: int
    stock: str
    is_offcut: bool
    vans: tuple[str, ...]
    units: tuple[str, ...]
    piece_count: int
    cuts: int
    levels: int
    cut_at: datetime | None
    cut_by: str
    drawing: SheetDrawing | None


@dataclass(frozen=True)
class Unfit:
    """Parts that fit no sheet."""

    name: str
    unit_name: str
    van: str
    count: int
    size: str


@dataclass(frozen=True)
class BoardPlan:
    """One board over some builds: its plan, or none yet. `parts_left` counts pieces on no sheet cut so far.

    `is_stale` tells that parts changed since it was laid out.
    """

    material: Material
    plan: CuttingPlan | None
    builds: tuple[Build, ...]
    parts_left: int
    is_stale: bool
    sheets: tuple[PlanSheet, ...]
    unfit: tuple[Unfit, ...]
    cost: Decimal

    @property
    def full_sheets(self) -> int:
        return sum(not sheet.is_offcut for sheet in self.sheets)

    @property
    def offcuts(self) -> int:
        return sum(sheet.is_offcut for sheet in self.sheets)

    @property
    def cut_count(self) -> int:
        return sum(sheet.cut_at is not None for sheet in self.sheets)

    @property
    def to_cut(self) -> int:
        return len(self.sheets) - self.cut_count

    @property
    def saw_cuts(self) -> int:
        return sum(sheet.cuts for sheet in self.sheets)

    @property
    def levels(self) -> int:
        return max((sheet.levels for sheet in self.sheets), default=0)

    @property
    def largest_rest(self) -> str:
        rests = [rest for sheet in self.sheets if sheet.drawing for rest in sheet.drawing.rests]
        return max(rests, key=lambda rest: rest.area_m2).size if rests else ""

    @property
    def search_tag(self) -> str:
        """Changes whenever how far the search is would look different."""
        return search_tag(self.plan)

    @property
    def share_done(self) -> int:
        plan = self.plan
        return min(100, round(100 * plan.seconds_spent / plan.seconds)) if plan and plan.seconds else 0


def search_tag(plan: CuttingPlan | None) -> str:
    """An entity tag of how far a plan's search is."""
    if plan is None:
        return '"gone"'
    held = (plan.pk, plan.run, plan.is_looking, plan.stop_asked, plan.seconds_spent, plan.found)
    return f'"{hashlib.sha256(repr(held).encode()).hexdigest()[:16]}"'


def cutting_boards(builds: Sequence[Build], *, drawn: bool = True) -> tuple[BoardPlan, ...]:
    """Every board of these builds with its plans; plans shared with others stand whole.

    Eight queries, however many builds and sheets. Without `drawn` the sheets come without drawings.
    """
    parts = parts_of(builds)
    cut = cut_already(builds)
    plans = _plans(builds)
    everything = parts_of({b.pk for plan in plans for b in plan.builds.all()}) if plans else parts
    boards, shown = [], set()
    for plan in plans:
        found = [p for p in everything.get(plan.material, []) if p.unit.build in plan.builds.all()]
        boards.append(_board(plan.material, plan, found, cut, drawn=drawn))
        shown |= {(plan.material_id, build.pk) for build in plan.builds.all()}
    done = units_cut(builds)
    for material, rows in parts.items():
        without = [p for p in rows if (material.pk, p.unit.build_id) not in shown and p.unit_id not in done]
        if without:
            boards.append(_board(material, None, without, cut))
    return tuple(sorted(boards, key=lambda b: (b.material.order, b.material.name)))


def board_of(plan: CuttingPlan) -> BoardPlan:
    """One plan as its page shows it."""
    builds = list(plan.builds.all())
    parts = parts_of(builds).get(plan.material, [])
    return _board(plan.material, plan, parts, cut_already(builds))


def _plans(builds: Iterable[Build]) -> list[CuttingPlan]:
    """Plans with something to cut, and of those cut through the newest of their builds."""
    rows = CuttingPlan.objects.filter(builds__in=builds).distinct().select_related("material")
    rows = rows.prefetch_related("builds", "sheets__cut_by").order_by("material__order", "-pk")
    return list(rows)


def _board(
    material: Material, plan: CuttingPlan | None, parts: Sequence[Part], cut: Counter, *, drawn: bool = True
) -> BoardPlan:
    sheets = tuple(plan_sheet(sheet, plan, drawn=drawn) for sheet in plan.sheets.all()) if plan else ()
    builds = tuple(plan.builds.all()) if plan else tuple(dict.fromkeys(p.unit.build for p in parts))
    left = sum(part.count for part in parts) - sum(
        count for (pk, *_), count in cut.items() if pk in {part.pk for part in parts}
    )
    return BoardPlan(
        material=material,
        plan=plan,
        builds=builds,
        parts_left=max(0, left),
        is_stale=bool(plan and plan.made_of != made_of(parts)),
        sheets=sheets,
        unfit=tuple(_unfit(row) for row in plan.unplaced) if plan else (),
        cost=sum((sheet.cost for sheet in plan.sheets.all()), Decimal(0)) if plan else Decimal(0),
    )


def plan_sheet(sheet: CutSheet, plan: CuttingPlan, *, drawn: bool = True) -> PlanSheet:
    """A sheet as it is shown; asks nothing of the database where `cut_by` was read with it."""
    size = size_words(sheet.length_tenths, sheet.width_tenths or 0)
    return PlanSheet(
        pk=sheet.pk,
        number=sheet.number,
        stock=f"offcut {size}" if sheet.offcut_id else size,
        is_offcut=sheet.offcut_id is not None,
        vans=tuple(dict.fromkeys(piece["van"] for piece in sheet.pieces)),
        units=tuple(dict.fromkeys(piece["unit_name"] for piece in sheet.pieces)),
        piece_count=len(sheet.pieces),
        cuts=sheet.cuts,
        levels=sheet.levels,
        cut_at=sheet.cut_at,
        cut_by=sheet.cut_by.name if sheet.cut_by else "",
        drawing=sheet_drawing(sheet, plan) if drawn else None,
    )


def _unfit(row: dict) -> Unfit:
    return Unfit(
        row["name"], row["unit_name"], row["van"], row["count"], size_words(row["length"], row["width"])
    )
