"""A whole sheet ticked as cut on the floor: the units' cutting goes on, sheet and offcuts are booked.

One press writes an event on the task it was pressed at, and one on the cutting of every other unit that has
pieces on the sheet; taking the first back takes them all back.
"""

from __future__ import annotations

import uuid as uuids
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from fractions import Fraction

from builds.actions.door import Gone, Refused, write
from builds.actions.floor_events import Answer, By, answered_before, hours_from, record, when
from builds.actions.floor_rules import crew_with, may_start, refuse_done, refuse_early, task_for
from builds.actions.offcuts import add_offcut, bring_back_offcut, least_sizes, take_offcut, throw_out_offcut
from builds.actions.stock import book, on_hand
from builds.engines.material.offcuts import is_worth_keeping
from builds.models import Build, CutSheet, CuttingPlan, FloorEvent, Offcut, Shop, StockMovement, Task
from builds.queries.cut_share import areas_on, shares_to_cut
from builds.queries.cutting_list import CUT_TASKS

CUT = "cut"
"""The standard task that is nothing but cutting, so that it is done when all is cut."""

LEAST_LEFT = Decimal("0.25")
HUNDREDTH = Decimal("0.01")


def cut_sheet(*, task: Task, sheet: int, hours, by: By, now: datetime) -> Answer:
    """Ticks a whole sheet as cut, in `hours` for its crew.

    Each unit's cutting is under way with the hours that its parts still to cut take, and done when all of
    them are cut. Refused where the cutting may not start yet, for a sheet that is cut already, and for one
    that was laid out anew.
    """
    with write() as shop:
        if known := answered_before(by):
            return known
        task = task_for(task, by)
        taken = hours_from(hours, field="hours")
        found = _sheet(sheet, task)
        refuse_done(task, by)
        payload = may_start(task, by, now, shop, True, "")
        found.cut_at, found.cut_by = when(by, now), by.person
        found.save(update_fields=["cut_at", "cut_by"])
        CuttingPlan.objects.filter(pk=found.plan_id).update(version=found.plan.version + 1)
        booked = _book(found, shop, by, now)
        others = _others(found, task, by, now, shop)
        parts = _of_each(found, [task, *others], taken)
        payload |= parts[task.pk] | booked | {"sheet": found.pk, "crew": crew_with(task, by)}
        payload["with"] = [
            _record_other(other, parts[other.pk], found, task, by, now).event.pk for other in others
        ]
        words = f"Sheet {found.number} of {found.plan.material.name} is cut{_kept_words(booked)}"
        return record("sheet cut", words, by=by, now=now, task=task, payload=payload)


def take_back_cut(event: FloorEvent, by: By, now: datetime) -> None:
    """What taking the tick of a sheet back takes back with it. Call inside a write."""
    payload = event.payload
    CutSheet.objects.filter(pk=payload.get("sheet")).update(cut_at=None, cut_by=None)
    sheet = CutSheet.objects.select_related("plan").filter(pk=payload.get("sheet")).first()
    if sheet is not None:
        CuttingPlan.objects.filter(pk=sheet.plan_id).update(version=sheet.plan.version + 1)
    for other in FloorEvent.objects.select_related("task__build").filter(pk__in=payload.get("with", [])):
        if not hasattr(other, "undone_by") and other.task is not None:
            silent = replace(by, uuid=None, sequence=None, tablet=None, person=None)
            record("undo", "Taken back", by=silent, now=now, task=other.task, undoes=other)
    why = "the tick of the sheet was taken back"
    for offcut in Offcut.objects.filter(pk__in=payload.get("kept", []), state="there"):
        throw_out_offcut(offcut=offcut, why=why, now=now, by=by.user)
    for offcut in Offcut.objects.filter(pk=payload.get("took"), state="used"):
        bring_back_offcut(offcut=offcut, why=why, now=now, by=by.user)
    for row in StockMovement.objects.filter(pk__in=payload.get("movements", [])).select_related("material"):
        book(row.material, -row.change, "undone", build=row.build, why=why, now=now, by=by.user)


def _sheet(pk: int, task: Task) -> CutSheet:
    found = CutSheet.objects.select_related("plan__material", "offcut", "cut_by").filter(pk=pk).first()
    if found is None:
        raise Gone("This sheet was laid out anew. Look at the sheets as they are now.")
    if found.cut_at is not None:
        who = f" by {found.cut_by.name}" if found.cut_by else ""
        raise Refused(f"Sheet {found.number} was ticked as cut already{who}.")
    if task.standard not in CUT_TASKS or task.unit_id not in areas_on(found, "unit"):
        raise Refused(f"Nothing of “{task.group_name}” is on this sheet.")
    return found


def _others(sheet: CutSheet, task: Task, by: By, now: datetime, shop: Shop) -> list[Task]:
    """The cutting of the other units on the sheet, as far as it may go on."""
    rows = Task.objects.unfinished().filter(unit__in=areas_on(sheet, "unit"), standard__in=CUT_TASKS)
    rows = rows.exclude(pk=task.pk).exclude(unit=task.unit_id).exclude(build__status="dropped")
    return [other for other in rows.select_related("build", "trade", "unit") if _may(other, by, now, shop)]


def _may(task: Task, by: By, now: datetime, shop: Shop) -> bool:
    if task.started_at is not None:
        return True
    try:
        refuse_early(task, when(by, now), shop)
    except Refused:
        return False
    return True


def _of_each(sheet: CutSheet, tasks: Iterable[Task], taken: Decimal) -> dict[int, dict]:
    """For each task its share of the hours taken, and what is left of it."""
    rows = list(tasks)
    areas = areas_on(sheet, "unit")
    shares = shares_to_cut([task.unit_id for task in rows if task.unit_id])
    whole = sum(areas[task.unit_id] for task in rows if task.unit_id)
    found = {}
    for task in rows:
        own = Fraction(areas[task.unit_id or 0], whole)
        payload: dict = {"hours": str((taken * own.numerator / own.denominator).quantize(HUNDREDTH))}
        share = shares.get(task.unit_id or 0)
        if task.standard == CUT and share is not None:
            left = (task.hours * share.left.numerator / share.left.denominator).quantize(HUNDREDTH)
            payload |= {"all_cut": True} if share.all_cut else {"hours_left": str(max(left, LEAST_LEFT))}
        found[task.pk] = payload
    return found


def _record_other(task: Task, payload: dict, sheet: CutSheet, first: Task, by: By, now: datetime) -> Answer:
    """The event on another unit's cutting; it is taken back with the first, so it names nobody to do so."""
    own = uuids.uuid5(by.uuid, str(task.pk)) if by.uuid else None
    silent = replace(by, uuid=own, sequence=None, tablet=None, person=None)
    words = f"Sheet {sheet.number} of {sheet.plan.material.name} is cut, with “{first.group_name}”"
    crew = {"crew": [by.person.pk]} if by.person else {}
    return record("sheet cut", words, by=silent, now=now, task=task, payload=payload | crew)


def _book(sheet: CutSheet, shop: Shop, by: By, now: datetime) -> dict:
    """Books what was cut up and what is worth keeping; gives what is needed to take it back."""
    material, areas = sheet.plan.material, areas_on(sheet, "build")
    builds = Build.objects.in_bulk(list(areas))
    main = builds.get(max(areas, key=lambda pk: areas[pk]))
    booked: dict = {"kept": [], "movements": []}
    if sheet.offcut is not None:
        if sheet.offcut.state == "there":
            take_offcut(sheet.offcut, build=main, now=now, by=by.user)
            booked["took"] = sheet.offcut.pk
    elif on_hand(material) >= material.pack:
        booked["movements"] = _take_sheet(sheet, builds, areas, by, now)
    least = least_sizes(shop)
    for _, _, length, width in sheet.leftovers:
        if is_worth_keeping(length // 10, width // 10, least):
            kept = add_offcut(
                material=material,
                length_mm=length // 10,
                width_mm=width // 10,
                cut_for=main,
                now=now,
                by=by.user,
            )
            booked["kept"].append(kept.pk)
    return booked


def _take_sheet(
    sheet: CutSheet, builds: dict[int, Build], areas: dict[int, int], by: By, now: datetime
) -> list[int]:
    """Takes one sheet out of the stock, shared between the vans by what each has on it.

    A sheet that came for a van alone is not stock: then the stock has none and nothing is booked.
    """
    pack, whole, rows = sheet.plan.material.pack, sum(areas.values()), []
    left = pack
    for n, (build, area) in enumerate(areas.items(), start=1):
        share = left if n == len(areas) else (pack * area / whole).quantize(Decimal("0.001"))
        left -= share
        why = f"sheet {sheet.number}"
        rows.append(
            book(sheet.plan.material, -share, "cut", build=builds.get(build), why=why, now=now, by=by.user).pk
        )
    return rows


def _kept_words(booked: dict) -> str:
    kept = len(booked["kept"])
    return "" if not kept else f"; {kept} offcut{'s' if kept > 1 else ''} to keep"
