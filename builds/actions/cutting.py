"""Cutting plans: laid out at once, anew when parts change, better when the owner asks for it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from decimal import Decimal

from builds.actions.door import Gone, Refused, note_in_journal, write
from builds.engines.cutting.cutter import cut_sheets
from builds.engines.cutting.errors import CuttingError
from builds.engines.cutting.layout import Layout, SheetLayout
from builds.engines.cutting.pieces import SheetProblem
from builds.models import Build, CutSheet, CuttingPlan, Material, Shop, User
from builds.queries.cutting_list import (
    CuttingList,
    NoSheetSize,
    cut_already,
    cutting_list,
    free_offcuts,
    parts_of,
    units_cut,
)

TRIES = 3
WIDEST_KERF_TENTHS, WIDEST_TRIM_TENTHS = 200, 1000


def lay_out(
    *, builds: Sequence[Build], material: Material | None = None, now: datetime, by: User | None
) -> list[CuttingPlan]:
    """Lays out what these builds still have to cut, together, one plan a material (all unless one is named).

    Sheets not yet cut of older plans give way to it; a build that shared such a plan and is not among
    `builds` gets a plan of its own, so that none loses its layout. A board that can't be laid out is left
    out, and its parts stay listed as not laid out; refused when nothing can be laid out at all.
    """
    if not builds:
        raise Refused("Choose at least one build.", field="builds")
    plans, why_not = [], None
    for board in [material] if material else list(parts_of(builds)):
        try:
            plans += _lay_out_board(list(builds), board, now, by)
        except Refused as error:
            why_not = why_not or error
    if not plans:
        raise why_not or Refused("Nothing is left to cut. Derive the parts of the units first.")
    return plans


def set_saw(*, kerf_tenths: int, trim_tenths: int, now: datetime, by: User | None) -> None:
    """Keeps the width of the saw cut and what is trimmed off each edge; plans made from then on use them."""
    if not 0 <= kerf_tenths <= WIDEST_KERF_TENTHS:
        raise Refused("A saw cut is between 0 and 20 mm wide.", field="kerf")
    if not 0 <= trim_tenths <= WIDEST_TRIM_TENTHS:
        raise Refused("Between 0 and 100 mm is trimmed off an edge.", field="trim")
    with write(plan=False) as shop:
        if (shop.saw_kerf_tenths, shop.sheet_trim_tenths) == (kerf_tenths, trim_tenths):
            return
        shop.saw_kerf_tenths, shop.sheet_trim_tenths = kerf_tenths, trim_tenths
        shop.save(update_fields=["saw_kerf_tenths", "sheet_trim_tenths"])
        note_in_journal(
            f"Set the saw cut to {kerf_tenths / 10:g} mm and the trim to {trim_tenths / 10:g} mm",
            now=now,
            by=by,
        )


def list_of(material: Material, builds: Sequence[Build], *, but: Iterable[int] = ()) -> CuttingList | None:
    """What is left to cut; None when nothing is. Offcuts on the plans `but` count as free.

    Raises Refused with the reason for what can't be cut as it stands.
    """
    parts = parts_of(builds).get(material, [])
    shop = Shop.objects.get(pk=1)
    try:
        offcuts = free_offcuts(material, but=but)
        found = cutting_list(material, parts, cut_already(builds), offcuts, shop, done=units_cut(builds))
    except NoSheetSize as error:
        raise Refused(str(error)) from None
    except CuttingError as error:
        words = f"{material.name} can’t be cut: {error.reason}."
        if error.field == "trim":
            words += " Trim less off its edges, or use a larger sheet."
        raise Refused(words) from None
    return found if found.parts else None


def _lay_out_board(
    builds: list[Build], material: Material, now: datetime, by: User | None
) -> list[CuttingPlan]:
    """One material's plan; laid out outside the lock, and again if something changed meanwhile."""
    for _ in range(TRIES):
        old = _plans_giving_way(material, builds)
        groups = [builds, *_left_alone(old, builds)]
        lists = [list_of(material, group, but=[plan.pk for plan in old]) for group in groups]
        layouts = _layouts(lists)
        with write(plan=False):
            again = _plans_giving_way(material, builds)
            if [(p.pk, p.version) for p in again] != [(p.pk, p.version) for p in old]:
                continue
            now_of = [list_of(material, group, but=[plan.pk for plan in old]) for group in groups]
            if [_same(one) for one in now_of] != [_same(one) for one in lists]:
                continue
            last = max((_give_way(plan) for plan in old), default=0)
            return [
                _store(found, layout, group, now, by, first=last + 1)
                for found, layout, group in zip(lists, layouts, groups, strict=True)
                if found is not None and layout is not None
            ]
    raise Refused("The parts changed this very moment. Try again.")


def _layouts(lists: Sequence[CuttingList | None]) -> list[Layout | None]:
    """The first layouts; an offcut that one takes is not offered to the next."""
    taken: set[str] = set()
    layouts: list[Layout | None] = []
    for found in lists:
        if found is None:
            layouts.append(None)
            continue
        layout = cut_sheets(_without(found.problem, taken))
        taken |= {sheet.stock for sheet in layout.sheets if sheet.stock in found.offcuts}
        layouts.append(layout)
    return layouts


def _without(problem: SheetProblem, taken: set[str]) -> SheetProblem:
    stock = tuple(sheet for sheet in problem.stock if sheet.key not in taken)
    return SheetProblem(
        problem.parts, stock, problem.kerf_tenths, problem.trim_tenths, problem.runs, problem.leftovers
    )


def _same(found: CuttingList | None) -> tuple | None:
    return None if found is None else (found.problem, found.made_of)


def _plans_giving_way(material: Material, builds: Sequence[Build]) -> list[CuttingPlan]:
    """Plans of this material for any of the builds that still have sheets to cut, or nothing at all cut."""
    rows = CuttingPlan.objects.filter(material=material, builds__in=builds).distinct().order_by("pk")
    return [plan for plan in rows.prefetch_related("builds", "sheets") if _is_open(plan)]


def _is_open(plan: CuttingPlan) -> bool:
    sheets = list(plan.sheets.all())
    return not sheets or any(sheet.cut_at is None for sheet in sheets)


def _left_alone(old: Sequence[CuttingPlan], builds: Sequence[Build]) -> list[list[Build]]:
    """Builds of the plans that give way which are not laid out anew, in the groups they were in."""
    chosen, groups = {build.pk for build in builds}, []
    for plan in old:
        others = [build for build in plan.builds.all() if build.pk not in chosen]
        chosen |= {build.pk for build in others}
        if others:
            groups.append(others)
    return groups


def _give_way(plan: CuttingPlan) -> int:
    """Takes back what of a plan is not cut; what is cut stays with it. Gives the last number in use."""
    plan.sheets.filter(cut_at=None).delete()
    last = plan.sheets.order_by("-number").values_list("number", flat=True).first()
    if last is None:
        plan.delete()
        return 0
    CuttingPlan.objects.filter(pk=plan.pk).update(
        is_looking=False, run=plan.run + 1, unplaced=[], notes=[], version=plan.version + 1
    )
    return last


def _store(
    found: CuttingList,
    layout: Layout,
    builds: Sequence[Build],
    now: datetime,
    by: User | None,
    *,
    first: int,
) -> CuttingPlan:
    plan = CuttingPlan.objects.create(
        material=found.material,
        kerf_tenths=found.problem.kerf_tenths,
        trim_tenths=found.problem.trim_tenths,
        made_at=now,
        made_by=by,
        made_of=found.made_of,
        unplaced=unplaced_rows(found, layout),
        notes=list(found.notes),
    )
    plan.builds.set(builds)
    CutSheet.objects.bulk_create(sheet_rows(plan, found, layout, first=first))
    return plan


def unplaced_rows(found: CuttingList, layout: Layout) -> list[dict]:
    """What fits no sheet, by name, as a plan keeps it."""
    rows = []
    for key, count in layout.unplaced.items():
        part = found.parts[key]
        rows.append(
            {
                "part": part.pk,
                "name": part.name,
                "unit": part.unit_id,
                "unit_name": part.unit.name,
                "build": part.unit.build_id,
                "van": part.unit.build.name,
                "count": count,
                "length": part.length_tenths,
                "width": part.width_tenths,
            }
        )
    return rows


def sheet_rows(plan: CuttingPlan, found: CuttingList, layout: Layout, *, first: int = 1) -> list[CutSheet]:
    """The sheets of a layout, numbered from `first`, as a plan keeps them."""
    stock = {sheet.key: sheet for sheet in found.problem.stock}
    rows = []
    for number, sheet in enumerate(layout.sheets, start=first):
        board = stock[sheet.stock]
        rows.append(
            CutSheet(
                plan=plan,
                number=number,
                offcut=found.offcuts.get(sheet.stock),
                length_tenths=board.length_tenths,
                width_tenths=board.width_tenths,
                pieces=_pieces(found, sheet),
                leftovers=[list(rest) for rest in sheet.leftovers],
                cost=Decimal(board.cost),
                cuts=sheet.cuts,
                levels=sheet.levels,
            )
        )
    return rows


def _pieces(found: CuttingList, sheet: SheetLayout) -> list[dict]:
    rows = []
    for piece in sheet.pieces:
        part = found.parts[piece.part]
        rows.append(
            {
                "part": part.pk,
                "name": part.name,
                "unit": part.unit_id,
                "unit_name": part.unit.name,
                "build": part.unit.build_id,
                "van": part.unit.build.name,
                "x": piece.x,
                "y": piece.y,
                "length": piece.length,
                "width": piece.width,
            }
        )
    return rows


def plan_now(plan: CuttingPlan | int) -> CuttingPlan:
    """The plan as it is, with its material; Gone when it was laid out anew."""
    pk = plan if isinstance(plan, int) else plan.pk
    found = CuttingPlan.objects.select_related("material").filter(pk=pk).first()
    if found is None:
        raise Gone("This was laid out anew in the meantime.")
    return found
