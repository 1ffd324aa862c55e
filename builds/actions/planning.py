"""Keeps the one plan current: made outside the write lock, stored only if nothing changed meanwhile."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import asdict
from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone
from django_tasks import task

from builds.actions.chances import chances_task
from builds.actions.door import write
from builds.actions.remedies import remedies_task
from builds.engines.planning.plan import Plan, Planned
from builds.engines.planning.planner import plan_shop
from builds.models import PlanRow, PlanState, Shop
from builds.queries.opening import instant
from builds.queries.problem import shop_problem

TRIES = 5
OLD_AFTER = timedelta(minutes=15)
BURST_OVER_AFTER = timedelta(seconds=30)


@task()
def replan_task() -> None:
    """Makes the plan, then has chances and remedies worked out, after whatever else waits for the worker."""
    replan(now=timezone.now())
    chances_task.enqueue()
    remedies_task.enqueue()


_is_asking: ContextVar[bool] = ContextVar("is_asking", default=True)


def ask_for_plan() -> None:
    """Asks the task worker for a new plan; a burst of asks is one plan, as later ones find it current."""
    if _is_asking.get():
        replan_task.enqueue()


def ask_for_plan_soon() -> None:
    """Asks for a plan in a while: for a burst of writes that asks at its end, should it break off before."""
    if _is_asking.get() and replan_task.get_backend().supports_defer:
        replan_task.using(run_after=timezone.now() + BURST_OVER_AFTER).enqueue()


@contextmanager
def planned_by_hand() -> Iterator[None]:
    """Asks for no plans within: whoever writes much at once plans when it suits, and once at the end."""
    before = _is_asking.set(False)
    try:
        yield
    finally:
        _is_asking.reset(before)


def ask_if_old(*, now: datetime) -> None:
    """Asks for a new plan when the current one was made a quarter of an hour ago or more.

    Time alone changes a plan: what was to start this morning and did not is later now.
    """
    made_at = PlanState.objects.filter(pk=1).values_list("made_at", flat=True).first()
    if made_at is not None and now - made_at < OLD_AFTER:
        return
    with write():
        pass


def replan(*, now: datetime) -> bool:
    """Makes and stores the plan of what the shop is now; returns whether a plan was stored.

    When the input changes while the plan is made, it is made again, at most five times: whoever
    changed it asked for a plan too.
    """
    for _ in range(TRIES):
        shop = Shop.objects.get_or_create(pk=1)[0]
        if not shop.plan_is_stale:
            return False
        started = time.perf_counter()
        problem = shop_problem(now, shop=shop)
        plan = plan_shop(problem)
        if store_plan(plan, revision=shop.revision, now=now, took=time.perf_counter() - started):
            return True
    return False


def store_plan(plan: Plan, *, revision: int, now: datetime, took: float) -> bool:
    """Writes the rows that differ and marks `revision` as planned; False when the input has moved on."""
    with transaction.atomic():
        shop = Shop.objects.select_for_update().get(pk=1)
        if shop.revision != revision:
            return False
        _store_rows(plan)
        _store_state(plan, now, took)
        Shop.objects.filter(pk=1).update(planned_revision=revision)
    return True


def _store_rows(plan: Plan) -> None:
    flags: dict[str, list[str]] = {}
    for flag in plan.flags:
        flags.setdefault(flag.task, []).append(flag.code)
    wanted = {int(p.task): _row(p, flags.get(p.task, [])) for p in plan.planned}
    kept = {row.task_id: row for row in PlanRow.objects.all()}
    PlanRow.objects.filter(task_id__in=kept.keys() - wanted.keys()).delete()
    new, changed = [], []
    for task_id, row in wanted.items():
        old = kept.get(task_id)
        if old is None:
            new.append(row)
        elif _content(old) != _content(row):
            row.pk = old.pk
            changed.append(row)
    PlanRow.objects.bulk_create(new, batch_size=500)
    PlanRow.objects.bulk_update(changed, ["start", "finish", "fitters", "reason", "flags"], batch_size=100)


def _row(planned: Planned, flags: list[str]) -> PlanRow:
    return PlanRow(
        task_id=int(planned.task),
        start=instant(planned.start),
        finish=instant(planned.finish),
        fitters=[int(f) for f in planned.fitters],
        reason={k: v for k, v in asdict(planned.reason).items() if v is not None},
        flags=sorted(flags),
    )


def _content(row: PlanRow) -> tuple:
    return row.start, row.finish, row.fitters, row.reason, row.flags


def _store_state(plan: Plan, now: datetime, took: float) -> None:
    PlanState.objects.update_or_create(
        pk=1,
        defaults={
            "made_at": now,
            "took_ms": round(took * 1000),
            "order": [int(t) for t in plan.order],
            "unplanned": [asdict(u) for u in plan.unplanned],
            "handovers": {
                van: instant(at).isoformat() if at is not None else None for van, at in plan.handovers.items()
            },
            "moves": plan.moves,
        },
    )


def forget_order() -> None:
    """Drops the stored order, so that the next plan weighs all vans afresh (a promise or a van changed)."""
    PlanState.objects.filter(pk=1).update(order=[], crews={})
