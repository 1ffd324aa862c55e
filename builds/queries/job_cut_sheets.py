"""The sheets that a fitter's cutting tasks have still to cut, on the job sheet."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from builds.models import CutSheet, Task
from builds.queries.cutting_list import CUT_TASKS

QUARTER = Decimal("0.25")


@dataclass(frozen=True)
class JobCutSheet:
    """One sheet to cut. `of_unit` of its pieces are the task's unit's; `hours` is what its tick offers."""

    pk: int
    board: str
    number: int
    pieces: int
    of_unit: int
    hours: str


def sheets_to_cut(tasks: Iterable[Task]) -> dict[int, tuple[JobCutSheet, ...]]:
    """For each cutting task its sheets still to cut; a sheet for several stands at the first. One query."""
    cutting = [task for task in tasks if task.standard in CUT_TASKS and task.unit_id]
    rows = CutSheet.objects.filter(plan__builds__in={task.build_id for task in cutting}).distinct()
    sheets = list(rows.select_related("plan__material").order_by("plan__material__order", "number", "pk"))
    whole: dict[int, int] = defaultdict(int)
    for sheet in sheets:
        for piece in sheet.pieces:
            whole[piece["unit"]] += _area(piece)
    hours = {task.unit_id: task.hours for task in cutting if task.standard == "cut"}
    found: dict[int, tuple[JobCutSheet, ...]] = {}
    shown: set[int] = set()
    for task in cutting:
        own = [s for s in sheets if s.cut_at is None and s.pk not in shown and _has(s, task.unit_id)]
        shown |= {sheet.pk for sheet in own}
        found[task.pk] = tuple(_line(sheet, task.unit_id, hours, whole) for sheet in own)
    return found


def _has(sheet: CutSheet, unit: int | None) -> bool:
    return any(piece["unit"] == unit for piece in sheet.pieces)


def _area(piece: dict) -> int:
    return piece["length"] * piece["width"]


def _line(sheet: CutSheet, unit: int | None, hours: dict[int, Decimal], whole: dict[int, int]) -> JobCutSheet:
    expected = sum(
        (hours[p["unit"]] * _area(p) / whole[p["unit"]] for p in sheet.pieces if p["unit"] in hours),
        Decimal(0),
    )
    quarters = max(Decimal(1), (expected / QUARTER).quantize(Decimal(1), ROUND_HALF_UP))
    return JobCutSheet(
        pk=sheet.pk,
        board=sheet.plan.material.name,
        number=sheet.number,
        pieces=len(sheet.pieces),
        of_unit=sum(piece["unit"] == unit for piece in sheet.pieces),
        hours=f"{(quarters * QUARTER).normalize():f}",
    )
