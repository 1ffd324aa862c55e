"""Tasks with their place in the plan, read in one query for the sheets that show weeks."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import CharField, Q, QuerySet, Value

from builds.models import Task

WHOLE_VAN = "Whole van"


@dataclass(frozen=True, slots=True)
class Work:
    """One task and its place in the plan; `start` and `finish` are what happened once it did.

    `hours` are what is left for each of the crew (what was taken once done), `hours_planned` the
    person-hours it was planned with. `group` is its unit or
    installation: ("unit", id), ("installation", id) or ("van", build id).
    """

    pk: int
    build: int
    name: str
    group: tuple[str, int]
    group_name: str
    group_order: int
    trade: str
    place: str
    crew: int
    hours: float
    state: str
    start: datetime | None
    finish: datetime | None
    version: int
    stop_reason: str
    told: date | None
    pin: date | None
    flags: tuple[str, ...]
    fitters: tuple[int, ...]
    told_fitters: tuple[int, ...]
    reason: dict
    check: str
    check_state: str
    phase: str
    hours_planned: float
    trade_name: str

    @property
    def person_hours(self) -> float:
        return self.hours * self.crew

    @property
    def is_open_check(self) -> bool:
        return bool(self.check) and self.check_state not in ("passed", "overruled")


_FIELDS = (
    "pk", "build_id", "name", "unit_id", "unit__name", "unit__order", "installation_id",
    "installation__name", "installation__order", "trade_id", "place_id", "crew", "hours", "hours_left",
    "hours_taken", "state", "started_at", "finished_at", "crew_on_it", "version", "stop_reason",
    "planned__start", "planned__finish", "planned__fitters", "planned__reason", "planned__flags",
    "told__monday", "told__fitters", "pin__monday", "hold_point__name", "hold_point__state",
    "phase", "trade__name",
)  # fmt: skip


def agreed_tasks() -> QuerySet:
    return Task.objects.kept().filter(build__status="agreed")


def between(start: datetime, end: datetime) -> Q:
    """Tasks that are planned or were really done in a stretch of time."""
    return Q(planned__start__lt=end, planned__finish__gt=start) | Q(
        state="done", finished_at__gte=start, finished_at__lt=end
    )


def unfinished_or_done_since(start: datetime) -> Q:
    return ~Q(state="done") | Q(finished_at__gte=start)


def read_work(tasks: QuerySet, *, reasons: bool = True) -> list[Work]:
    """Reads tasks in their own order; one query.

    Sheets of a whole shop leave the `reasons` of starts aside: thousands of them take time to read.
    """
    fields = [f if reasons or f != "planned__reason" else Value(None, CharField()) for f in _FIELDS]
    rows = tasks.order_by("build_id", "order", "pk").values_list(*fields)
    return [_work(*row) for row in rows]


def _work(
    pk, build, name, unit, unit_name, unit_order, inst, inst_name, inst_order, trade, place, crew, hours,
    left, taken, state, started, finished, on_it, version, stop_reason, start, finish, fitters, reason,
    flags, told, told_fitters, pin, check, check_state, phase, trade_name,
) -> Work:  # fmt: skip
    if unit:
        group, group_name, order = ("unit", unit), unit_name, unit_order
    elif inst:
        group, group_name, order = ("installation", inst), inst_name, 1000 + inst_order
    else:
        group, group_name, order = ("van", build), WHOLE_VAN, 9999
    planned_hours = float(hours) * crew
    if state == "done":
        start, finish = started or finished, finished
        hours, fitters = hours if taken is None else taken, on_it
    elif left is not None:
        hours = left
    if state == "under way" and started and start:
        start = started
    return Work(
        pk, build, name, group, group_name, order, trade, place, crew, float(hours), state, start, finish,
        version, stop_reason, told, pin, tuple(flags or ()), tuple(fitters or ()), tuple(told_fitters or ()),
        reason or {}, check or "", check_state or "", phase, planned_hours, trade_name,
    )  # fmt: skip


def mark_of(work: Iterable[Work | Task]) -> str:
    """A short mark of tasks as they are: another one when any of them was changed in the meantime."""
    text = ",".join(f"{w.pk}:{w.version}" for w in sorted(work, key=lambda w: w.pk))
    return hashlib.blake2s(text.encode(), digest_size=6).hexdigest()
