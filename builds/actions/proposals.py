"""A better plan when the owner asks: searched in the task worker, proposed, taken or not.

The search keeps what it has found in its row as it goes. A worker that is stopped or killed loses a
few seconds of it: whoever looks next finds it unheard of, and another worker goes on from there.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from time import monotonic

from django.db import transaction
from django.db.models import F, QuerySet
from django.utils import timezone
from django_tasks import task

from builds.actions.door import Gone, Refused, Stale, note_in_journal, write
from builds.engines.planning.lateness import lateness
from builds.engines.planning.plan import Plan
from builds.engines.planning.planner import crews_of, decode, plan_shop
from builds.engines.planning.problem import Problem
from builds.engines.planning.search import Progress, improve
from builds.models import PlanState, Proposal, Shop, User
from builds.queries.plan_changes import changes_of
from builds.queries.problem import shop_problem

LONGEST_SECONDS = 3600
UNHEARD_AFTER = timedelta(seconds=45)
"""A search that says nothing for so long has lost its worker."""

SAYS_EVERY = 2.0
LEAST_DAYS = 0.05
LEAST_SOONER = 1440
"""What is worth a proposal: so many weighted late days less, or all handovers so many minutes sooner."""


@task(queue_name="long", priority=-50)
def search_task(proposal: int) -> None:
    run_search(proposal)


def ask_for_better_plan(*, seconds: int, now: datetime, by: User | None, in_worker: bool = True) -> Proposal:
    """Begins a search of at most `seconds`; an older proposal not yet taken is dropped.

    Refused while another search runs or the shop has nothing planned. With `in_worker` False the caller
    runs it.
    """
    if not 1 <= seconds <= LONGEST_SECONDS:
        raise Refused("Look for between a second and an hour.", field="seconds")
    with write(plan=False):
        if Proposal.objects.filter(is_looking=True).exists():
            raise Refused("A search is under way already. Stop it first, or wait for it.")
        if not PlanState.objects.filter(pk=1, made_at__isnull=False).exists():
            raise Refused("There is no plan yet to better.")
        Proposal.objects.filter(state="ready").update(state="dropped", ended_at=now)
        proposal = Proposal.objects.create(asked_at=now, asked_by=by, seconds=seconds, heard_at=now)
        if in_worker:
            transaction.on_commit(lambda: search_task.enqueue(proposal.pk))
    return proposal


def stop_search(*, proposal: int, now: datetime) -> None:
    """Ends a search with the best so far; one that no worker has taken up, or that lost its, ends at once."""
    with write(plan=False):
        found = _locked(proposal)
        if not found.is_looking:
            return
        found.stop_asked = True
        found.save(update_fields=["stop_asked"])
        lost = found.state == "asked" or _is_unheard(found, now)
    if lost:
        run_search(proposal)


def go_on_if_lost(*, now: datetime) -> None:
    """Hands a search whose worker was killed or stopped to another one."""
    found = Proposal.objects.filter(is_looking=True).first()
    if found is None or not _is_unheard(found, now):
        return
    with transaction.atomic():
        taken = Proposal.objects.filter(pk=found.pk, heard_at=found.heard_at).update(heard_at=now)
        if taken:
            transaction.on_commit(lambda: search_task.enqueue(found.pk))


def take_proposal(*, proposal: int, now: datetime, by: User | None) -> None:
    """Makes the proposed order and crews those of the plan, and asks for the plan of them.

    Refused when what happened since left the proposal no better than the plan as it is.
    """
    revision = Shop.objects.values_list("revision", flat=True).get(pk=1)
    found = _found(Proposal.objects.filter(pk=proposal))
    problem = shop_problem(now)
    proposed = _proposed(problem, found)
    still_better = is_better(problem, plan_shop(problem), proposed)
    with write() as shop:
        found = _locked(proposal)
        if found.state != "ready":
            raise Stale("This proposal was taken, dropped or replaced in the meantime.")
        if shop.revision != revision:
            raise Stale("The shop's work changed this very moment. Look at it and take it again.")
        if not still_better:
            raise Refused(
                "Since this was found, the work has gone on and it would no longer be better. Look again."
            )
        order, crews = [int(t) for t in proposed.order], _as_stored(crews_of(proposed))
        PlanState.objects.filter(pk=1).update(order=order, crews=crews)
        found.state, found.ended_at = "taken", now
        found.save(update_fields=["state", "ended_at"])
        note_in_journal("Took a better plan", now=now, by=by)


def drop_proposal(*, proposal: int, now: datetime) -> None:
    """Leaves the plan as it is; dropping twice is dropping once."""
    with write(plan=False):
        found = _locked(proposal)
        if found.state == "dropped":
            return
        if found.state != "ready":
            raise Stale("This proposal was taken or replaced in the meantime.")
        found.state, found.ended_at = "dropped", now
        found.save(update_fields=["state", "ended_at"])


def run_search(
    proposal: int,
    *,
    clock: Callable[[], float] = monotonic,
    time_now: Callable[[], datetime] | None = None,
) -> None:
    """Searches on behalf of a proposal that is asked for, and closes it with what it found.

    Does nothing for one that is closed. `clock` is a stopwatch in seconds, `time_now` gives the time.
    """
    time_now = time_now or timezone.now
    claimed = Proposal.objects.filter(pk=proposal, is_looking=True).update(
        run=F("run") + 1, state="searching", heard_at=time_now()
    )
    if not claimed:
        return
    found = Proposal.objects.get(pk=proposal)
    problem = shop_problem(time_now())
    plan = plan_shop(problem)
    if found.late_before is None:
        found.late_before = lateness(problem, plan).weighted_days
    best = _better_of(problem, plan, found)
    left = found.seconds - found.seconds_spent
    if left > 0 and not found.stop_asked and plan.planned:
        teller = _Teller(found, clock, time_now)
        best = improve(
            problem,
            best,
            seconds=left,
            seed=found.seed + found.run - 1,
            on_progress=teller.better,
            should_stop=teller.is_over,
            clock=clock,
        )
        teller.say()
        if teller.is_replaced:
            return
    _close(found, best, time_now())


def is_better(problem: Problem, plan: Plan, proposed: Plan) -> bool:
    """Whether a proposed plan is worth proposing beside the plan as it is."""
    if len(proposed.unplanned) > len(plan.unplanned) or len(proposed.flags) > len(plan.flags):
        return False
    less = lateness(problem, plan).weighted_days - lateness(problem, proposed).weighted_days
    if abs(less) >= LEAST_DAYS:
        return less > 0
    sooner = sum(
        at - proposed.handovers[van]
        for van, at in plan.handovers.items()
        if at is not None and proposed.handovers.get(van) is not None
    )
    return less > -1e-9 and sooner >= LEAST_SOONER


class _Teller:
    """Keeps a search's row up to date while it runs, and hears from it when to stop."""

    def __init__(self, found: Proposal, clock: Callable[[], float], time_now: Callable[[], datetime]) -> None:
        self._found, self._clock, self._time_now = found, clock, time_now
        self._since = self._last = clock()
        self._spent_before = found.seconds_spent
        self._stop = self.is_replaced = False
        self._steps = list(found.steps)
        self._best: Progress | None = None
        self._looks = 0

    def better(self, progress: Progress) -> None:
        self._best = progress
        self._steps.append([round(self._spent_before + progress.seconds, 1), round(progress.late_days, 2)])

    def is_over(self) -> bool:
        self._looks += 1
        if self._clock() - self._last >= SAYS_EVERY:
            self._last = self._clock()
            self.say()
        return self._stop

    def say(self) -> None:
        fields = {
            "heard_at": self._time_now(),
            "seconds_spent": round(self._spent_before + self._clock() - self._since, 1),
            "tries": self._looks,
            "steps": self._steps,
            "late_before": self._found.late_before,
        }
        if self._best is not None:
            fields["order"] = [int(t) for t in self._best.order]
            fields["crews"] = _as_stored(self._best.crews)
            self._best = None
        mine = Proposal.objects.filter(pk=self._found.pk, run=self._found.run, is_looking=True)
        self.is_replaced = not mine.update(**fields)
        self._stop = self.is_replaced or mine.filter(stop_asked=True).exists()


def _close(found: Proposal, best: Plan, now: datetime) -> None:
    """Holds what was found against the plan as it is now, and leaves it as a proposal or not."""
    problem = shop_problem(now)
    plan = plan_shop(problem)
    found.order, found.crews = [int(t) for t in best.order], _as_stored(crews_of(best))
    proposed = _proposed(problem, found)
    better = is_better(problem, plan, proposed)
    with write(plan=False):
        fresh = _locked(found.pk)
        if fresh.run != found.run or not fresh.is_looking:
            return
        fresh.state = "ready" if better else "nothing"
        fresh.is_looking, fresh.ended_at = None, now
        fresh.late_before = lateness(problem, plan).weighted_days
        fresh.late_after = lateness(problem, proposed).weighted_days if better else fresh.late_before
        fresh.order, fresh.crews = (found.order, found.crews) if better else ([], {})
        fresh.changes = changes_of(plan, proposed) if better else {}
        fresh.save()


def _better_of(problem: Problem, plan: Plan, found: Proposal) -> Plan:
    """The plan as it is, or what an earlier worker had found where that is better."""
    if not found.order:
        return plan
    known = _proposed(problem, found)
    return known if is_better(problem, plan, known) else plan


def _proposed(problem: Problem, found: Proposal) -> Plan:
    """The plan that a proposal stands for; crews that were told keep their work."""
    crews = {i: tuple(str(p) for p in people) for i, people in found.crews.items()}
    return decode(problem, [str(t) for t in found.order], crews | dict(problem.crews))


def _as_stored(crews: dict[str, tuple[str, ...]]) -> dict[str, list[int]]:
    return {task: [int(p) for p in people] for task, people in crews.items()}


def _is_unheard(found: Proposal, now: datetime) -> bool:
    return found.heard_at is None or now - found.heard_at > UNHEARD_AFTER


def _locked(proposal: int) -> Proposal:
    return _found(Proposal.objects.select_for_update().filter(pk=proposal))


def _found(proposals: QuerySet[Proposal]) -> Proposal:
    found = proposals.first()
    if found is None:
        raise Gone("This proposal is not there any more.")
    return found
