"""How sure the dates are: worked out in the task worker after each plan, and stored beside it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from time import monotonic

from django.conf import settings
from django.db import transaction
from django.utils import timezone
from django_tasks import task

from builds.engines.planning.planner import plan_shop
from builds.engines.planning.problem import Problem
from builds.engines.planning.rehearse import rehearse
from builds.engines.planning.simulate import Dates
from builds.models import PlanState, Shop
from builds.queries.chances import SHARES
from builds.queries.opening import instant
from builds.queries.problem import shop_problem
from builds.queries.spread import hours_spread

SEED = 1
"""Always the same, so that the same plan has the same chances and two plans differ by what they do."""

LOOKS_EVERY = 0.5
"""Seconds between two looks whether the shop has changed, which makes the rest of the runs worthless."""


@task(priority=-10)
def chances_task() -> None:
    work_out_chances(now=timezone.now())


def work_out_chances(
    *, now: datetime, runs: int | None = None, clock: Callable[[], float] = monotonic
) -> bool:
    """Rehearses the current plan and stores each build's dates; returns whether they were stored.

    Nothing is stored when the shop changes meanwhile: the plan that is made then asks again. Crews that
    were told, or taken with a better plan, are held; the others change as the plan itself would.
    """
    shop = Shop.objects.get_or_create(pk=1)[0]
    known = PlanState.objects.filter(pk=1).values_list("chances_of", flat=True).first()
    if shop.plan_is_stale or known == shop.revision:
        return False
    runs = runs or settings.CHANCES_RUNS
    problem = shop_problem(now, shop=shop)
    plan = plan_shop(problem)
    dates = rehearse(
        problem,
        plan,
        seed=SEED,
        runs=runs,
        hours=hours_spread(problem),
        crews=problem.crews,
        should_stop=changed_since(shop.revision, clock),
    )
    return dates is not None and _store(_as_stored(problem, dates, runs), shop.revision)


def changed_since(revision: int, clock: Callable[[], float]) -> Callable[[], bool]:
    """Tells, when asked, whether the shop has moved on; it looks no more often than `LOOKS_EVERY`."""
    last = clock()

    def changed() -> bool:
        nonlocal last
        if clock() - last < LOOKS_EVERY:
            return False
        last = clock()
        return not Shop.objects.filter(pk=1, revision=revision).exists()

    return changed


def _as_stored(problem: Problem, dates: Dates, runs: int) -> dict[str, dict]:
    found = {}
    for van in problem.vans:
        at = {key: dates.kept_in(van.id, share) for key, share in SHARES.items()}
        ends = {key: instant(when).isoformat() for key, when in at.items() if when is not None}
        if ends:
            kept = dates.chance(van.id, van.promised, problem.opening.zone) if van.promised else None
            found[van.id] = ends | {"kept": kept, "runs": runs}
    return found


def _store(chances: dict[str, dict], revision: int) -> bool:
    with transaction.atomic():
        shop = Shop.objects.select_for_update().get(pk=1)
        if shop.revision != revision:
            return False
        PlanState.objects.filter(pk=1).update(chances=chances, chances_of=revision)
    return True
