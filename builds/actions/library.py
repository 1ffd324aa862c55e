"""Takes the trade's standard library into the shop: trades, places, kinds, tasks, links, checks, cautions.

Only rows whose key the shop does not have yet are added, so loading again brings what is new and
never overwrites what the shop has edited.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime
from decimal import Decimal

from django.db import models

from builds.actions.door import note_in_journal, write
from builds.actions.library_materials import add_materials
from builds.library.reading import Row, hold_points, rows
from builds.library.reading import standard_work as library_work
from builds.models import (
    BodySize,
    Caution,
    InstallationKind,
    Place,
    StandardHoldPoint,
    StandardLink,
    StandardTask,
    Trade,
    UnitKind,
    User,
)


def load_standard_library(*, now: datetime, by: User | None = None) -> int:
    """Adds the standard rows the shop does not have yet; gives how many rows were added."""
    with write() as _:
        added = sum(
            (
                _add(Trade, map(_trade, enumerate(rows("trades")))),
                _add(Place, map(_place, enumerate(rows("places")))),
                _add(BodySize, map(_body_size, enumerate(rows("body_sizes")))),
                _add(Caution, (Caution(key=r.text("key"), text=r.text("text")) for r in rows("cautions"))),
                _add(UnitKind, map(_unit_kind, enumerate(rows("units")))),
                _add(InstallationKind, map(_installation, enumerate(rows("installations")))),
                _add(StandardHoldPoint, map(_hold_point, enumerate(hold_points()))),
                _add_tasks_and_links(),
                add_materials(),
            )
        )
        if added:
            note_in_journal(f"Loaded {added} rows of the standard library", now=now, by=by)
    return added


def _add(model: type[models.Model], wanted: Iterable[models.Model]) -> int:
    known = set(model.objects.values_list("key", flat=True))
    new = [row for row in wanted if row.key not in known]
    model.objects.bulk_create(new)
    return len(new)


def _add_tasks_and_links() -> int:
    """New tasks come with the links that touch them; links between known tasks are the shop's own now."""
    work = library_work()
    known = set(StandardTask.objects.values_list("key", flat=True))
    new = [task for key, task in work.tasks.items() if key not in known]
    bases = {row.text("key"): row.text("scope") for row in rows("tasks")}
    StandardTask.objects.bulk_create([_task(task, bases[task.key]) for task in new])
    fresh = {task.key for task in new}
    links = [_link(link) for link in work.links if link.before in fresh or link.after in fresh]
    StandardLink.objects.bulk_create(links)
    return len(new) + len(links)


Numbered = tuple[int, Row]


def _trade(numbered: Numbered) -> Trade:
    order, row = numbered
    return Trade(key=row.text("key"), name=row.text("name"), licensed=row.yes("licensed"), position=order)


def _place(numbered: Numbered) -> Place:
    order, row = numbered
    return Place(
        key=row.text("key"),
        name=row.text("name"),
        room=row.whole_or_none("room"),
        counts=row.one_of("counts", ("jobs", "people")),
        per_van=row.yes("per_van"),
        holds_bay=row.yes("holds_bay"),
        van_position=row.text("position"),
        caution=_caution_text(row.text("caution")),
        order=order,
    )


def _caution_text(key: str) -> str:
    return next((r.text("text") for r in rows("cautions") if r.text("key") == key), "")


def _body_size(numbered: Numbered) -> BodySize:
    order, row = numbered
    whole = [
        f.name for f in BodySize._meta.get_fields() if f.name.endswith(("_mm", "_kg")) and f.name != "order"
    ]
    return BodySize(
        key=row.text("key"), name=row.text("name"), order=order, **{name: row.whole(name) for name in whole}
    )


def _unit_kind(numbered: Numbered) -> UnitKind:
    order, row = numbered
    width, depth, height = row.sizes("usual")
    return UnitKind(
        key=row.text("key"),
        name=row.text("name"),
        width_mm=width,
        depth_mm=depth,
        height_mm=height,
        made_as=row.text("made_as"),
        least_mm=list(row.sizes("least")),
        most_mm=list(row.sizes("most")),
        work=Decimal(row.text("work")),
        board=row.text("board"),
        board_share=Decimal(row.text("board_share")),
        coated_faces=row.whole("coated_faces"),
        about=row.text("about"),
        basis=row.text("basis"),
        order=order,
    )


def _installation(numbered: Numbered) -> InstallationKind:
    order, row = numbered
    return InstallationKind(
        key=row.text("key"),
        name=row.text("name"),
        usual=row.yes("picked"),
        needs=list(row.names("needs")),
        counted_in=row.text("counted_in"),
        usual_count=row.whole("usual_count"),
        about=row.text("explanation"),
        basis=row.text("basis"),
        order=order,
    )


def _hold_point(numbered: tuple[int, dict]) -> StandardHoldPoint:
    order, row = numbered
    return StandardHoldPoint(order=order, **row)


def _task(task, scope: str) -> StandardTask:
    number: Callable[[float], Decimal] = lambda value: Decimal(str(value))  # noqa: E731
    return StandardTask(
        key=task.key,
        name=task.name,
        scope=scope,
        only_with=list(task.only_with),
        phase=task.phase,
        trade=task.trade,
        place=task.place,
        crew=task.crew,
        hours_low=number(task.hours_low),
        hours_likely=number(task.hours_likely),
        hours_high=number(task.hours_high),
        scaled=task.scaled,
        same_day=task.same_day,
        needs_van=task.needs_van,
        claims_van=task.claims_van,
        closes_up=task.closes_up,
        dries_here_hours=number(task.dries_here_hours),
        rack_hours=number(task.rack_hours),
        still_hours=number(task.still_hours),
        hold_point=task.hold_point,
        reminder=task.reminder,
        caution=task.caution,
        materials=list(task.materials),
        lead_time=task.lead_time,
        why=task.why,
        basis=task.basis,
        order=task.order,
    )


def _link(link) -> StandardLink:
    return StandardLink(
        before_id=link.before,
        after_id=link.after,
        wait_hours=Decimal(str(link.wait_hours)),
        latest_hours=None if link.latest_hours is None else Decimal(str(link.latest_hours)),
        cure=link.cure,
        match=link.match,
        before_units=list(link.before_units),
        why=link.why,
    )
