"""Licensed work that is added to a build ends in a test: gas and mains are never left untested."""

from __future__ import annotations

from decimal import Decimal

from builds.actions.composing import hold_point_of
from builds.actions.tested import followers, reached_from
from builds.models import HoldPoint, Link, StandardHoldPoint, StandardTask, Task

WHY = "licensed work is tested"


def prove_licensed_work(task: Task) -> Task | None:
    """Sees to it that a check of the task's licensed trade comes after it; call inside a write.

    A check of the build that is still open is put behind the work; where there is none, the final test
    of the library is added with its hold point and given back. None where nothing had to be added, or
    where the library has no test of that trade.
    """
    if not task.trade.licensed or hasattr(task, "hold_point"):
        return None
    after = followers(task.build_id)
    behind = reached_from(task.pk, after)
    rows = HoldPoint.objects.filter(task__build=task.build_id, task__removed_at=None)
    checks = list(rows.filter(licensed_trade=task.trade_id).order_by("-certificate_due", "pk"))
    if any(check.task_id in behind for check in checks):
        return None
    for check in checks:
        if not check.lets_followers_start and task.pk not in reached_from(check.task_id, after):
            Link.objects.create(before=task, after_id=check.task_id, why=WHY)
            return None
    return _final_test(task)


def _final_test(task: Task) -> Task | None:
    kinds = StandardHoldPoint.objects.filter(licensed_trade=task.trade_id, certificate_due=True)
    checks = {row.key: row for row in kinds}
    standard = StandardTask.objects.filter(hold_point__in=checks).order_by("withdrawn", "order").first()
    if standard is None:
        return None
    count = Task.objects.filter(build=task.build_id, key__startswith=f"{standard.key}+").count()
    test = Task.objects.create(
        build=task.build,
        installation=task.installation,
        key=f"{standard.key}+{count + 1}",
        standard=standard.key,
        name=standard.name,
        phase=standard.phase,
        trade_id=standard.trade,
        place_id=standard.place,
        crew=standard.crew,
        hours_low=standard.hours_low,
        hours=max(standard.hours_likely, Decimal("0.25")),
        hours_high=standard.hours_high,
        same_day=standard.same_day,
        needs_van=standard.needs_van,
        claims_van=standard.claims_van,
        caution=standard.caution,
        reminder=standard.reminder,
        warranty=task.warranty,
        order=task.order + 1,
    )
    hold_point_of(test, checks[standard.hold_point], task.build).save()
    Link.objects.create(before=task, after=test, why=WHY)
    return test
