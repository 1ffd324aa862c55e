"""What would bring each van back: tried in the task worker after each plan, and stored beside it.

Every remedy is one change to the shop, and the whole shop is planned again with it; what did not help is
not told. Nothing of it touches the plan.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from time import monotonic

from django.db import transaction
from django.utils import timezone
from django_tasks import task

from builds.actions.chances import changed_since
from builds.engines.planning.lateness import lateness
from builds.engines.planning.planner import plan_shop
from builds.engines.planning.remedies import try_remedies
from builds.engines.planning.remedies_at_hand import remedies_at_hand
from builds.models import PlanState, Shop
from builds.queries.may_be_left import may_go_out, may_wait
from builds.queries.opening import opening_times
from builds.queries.problem import shop_problem
from builds.queries.remedy_words import RemedyWords

MOST_TOLD = 3


@task(priority=-20)
def remedies_task() -> None:
    work_out_remedies(now=timezone.now())


def work_out_remedies(*, now: datetime, clock: Callable[[], float] = monotonic) -> bool:
    """Tries remedies for every van with a promise, the latest van first; whether they were stored.

    Nothing is stored when the shop changes meanwhile: the plan that is made then asks again.
    """
    shop = Shop.objects.get_or_create(pk=1)[0]
    known = PlanState.objects.filter(pk=1).values_list("remedies_of", flat=True).first()
    if shop.plan_is_stale or known == shop.revision:
        return False
    problem = shop_problem(now, shop=shop)
    plan = plan_shop(problem)
    late = lateness(problem, plan).days_by_van
    out, wait, words = may_go_out(), may_wait(), RemedyWords(opening_times(shop))
    changed = changed_since(shop.revision, clock)
    found: dict[str, list[dict]] = {}
    for van in sorted(late, key=lambda v: -late[v]):
        at_hand = remedies_at_hand(problem, plan, van, may_go_out=out, may_wait=wait)
        tried = try_remedies(problem, plan, van, at_hand, should_stop=changed)
        if changed():
            return False
        found[van] = [words.line(t, van).as_stored() for t in tried[:MOST_TOLD]]
    return _store(found, shop.revision)


def _store(found: dict[str, list[dict]], revision: int) -> bool:
    with transaction.atomic():
        shop = Shop.objects.select_for_update().get(pk=1)
        if shop.revision != revision:
            return False
        PlanState.objects.filter(pk=1).update(remedies=found, remedies_of=revision)
    return True
