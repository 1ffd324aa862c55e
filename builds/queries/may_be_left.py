"""Which open work may be given out, and which may wait until after handover."""

from __future__ import annotations

from collections import defaultdict

from django.db.models import Q

from builds.models import HoldPoint, Link, Task

LAST_PHASES = ("Trim and outside",)
"""Stretches of the job whose work a customer may come back for; common practice, no source."""

LAST_CHECKS = ("snag_walk", "handover")
"""Checks of the van as a whole, which work left for later is named at, not proven by."""


def may_go_out() -> set[str]:
    """Ids of open work that others could do elsewhere: it needs no van, proves nothing, needs no licence."""
    return {str(pk) for pk in _plain().filter(needs_van=False).values_list("pk", flat=True)}


def may_wait() -> set[str]:
    """Ids of open work a van may leave without: trim, and jobs nobody planned.

    No check but the last two follows it, it proves nothing and needs no licence.
    """
    checks = HoldPoint.objects.filter(task__removed_at=None).exclude(state__in=["passed", "overruled"])
    proving = set(checks.exclude(kind__in=LAST_CHECKS).values_list("task_id", flat=True))
    before: dict[int, list[int]] = defaultdict(list)
    for first, then in Link.objects.filter(after__state="to do").values_list("before_id", "after_id"):
        before[then].append(first)
    held, todo = set(proving), list(proving)
    while todo:
        for task in before[todo.pop()]:
            if task not in held:
                held.add(task)
                todo.append(task)
    last = _plain().filter(Q(phase__in=LAST_PHASES) | Q(unplanned_job=True))
    return {str(pk) for pk in last.values_list("pk", flat=True) if pk not in held}


def _plain():
    open_work = Task.objects.kept().filter(build__status="agreed", state="to do", hold_point=None)
    return open_work.filter(trade__licensed=False)
