"""The shop's own standard work, as the composer reads it."""

from __future__ import annotations

from builds.engines.composing.standard import (
    InstallationKind,
    StandardLink,
    StandardTask,
    StandardWork,
    UnitKind,
)
from builds.library.reading import scope_of
from builds.models import InstallationKind as InstallationKindRow
from builds.models import StandardLink as LinkRow
from builds.models import StandardTask as TaskRow
from builds.models import UnitKind as UnitKindRow

NOT_OFFERED = "(withdrawn)"
"""An installation that there is not: what comes only with it never comes."""


def standard_work() -> StandardWork:
    """Every kind, task and link; four queries.

    A withdrawn task comes with a condition that no build meets: so the composer closes its gap, and
    what followed it still waits for what it waited for.
    """
    tasks = {row.key: _task(row) for row in TaskRow.objects.all()}
    links = LinkRow.objects.all()
    return StandardWork(
        unit_kinds={row.key: _unit_kind(row) for row in UnitKindRow.objects.all()},
        installations={row.key: _installation(row) for row in InstallationKindRow.objects.all()},
        tasks=tasks,
        links=tuple(_link(row) for row in links),
    )


def _unit_kind(row: UnitKindRow) -> UnitKind:
    return UnitKind(
        key=row.key,
        name=row.name,
        made_as=row.made_as,
        width_mm=row.width_mm,
        depth_mm=row.depth_mm,
        height_mm=row.height_mm,
        min_mm=tuple(row.least_mm),
        max_mm=tuple(row.most_mm),
        work=float(row.work),
        board=row.board,
        board_share=float(row.board_share),
        coated_faces=row.coated_faces,
    )


def _installation(row: InstallationKindRow) -> InstallationKind:
    return InstallationKind(
        key=row.key,
        name=row.name,
        picked=row.usual,
        needs=tuple(row.needs),
        counted_in=row.counted_in,
        usual_count=row.usual_count,
        explanation=row.about,
    )


def _task(row: TaskRow) -> StandardTask:
    return StandardTask(
        key=row.key,
        name=row.name,
        scope=scope_of(row.scope),
        phase=row.phase,
        trade=row.trade,
        place=row.place,
        crew=row.crew,
        hours_low=float(row.hours_low),
        hours_likely=float(row.hours_likely),
        hours_high=float(row.hours_high),
        only_with=(NOT_OFFERED,) if row.withdrawn else tuple(row.only_with),
        scaled=row.scaled,
        same_day=row.same_day,
        needs_van=row.needs_van,
        claims_van=row.claims_van,
        closes_up=row.closes_up,
        dries_here_hours=float(row.dries_here_hours),
        rack_hours=float(row.rack_hours),
        still_hours=float(row.still_hours),
        hold_point=row.hold_point,
        reminder=row.reminder,
        caution=row.caution,
        lead_time=row.lead_time,
        materials=tuple(row.materials),
        why=row.why,
        basis=row.basis,
        order=row.order,
    )


def _link(row: LinkRow) -> StandardLink:
    return StandardLink(
        before=row.before_id,
        after=row.after_id,
        wait_hours=float(row.wait_hours),
        latest_hours=None if row.latest_hours is None else float(row.latest_hours),
        cure=row.cure,
        match=row.match,
        before_units=tuple(row.before_units),
        why=row.why,
    )
