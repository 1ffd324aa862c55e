"""Which remedies are worth a try for a van: read off the chain of reasons from its handover to today."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from dataclasses import replace
from datetime import timedelta

from .calendar import day_at, monday_of, open_stretches, works_on
from .plan import Plan
from .problem import Problem, Task
from .reasons import Step, chain
from .remedies import Remedy, plan_with

MOST_WEEKS = 6
"""Weeks with one trade's work in the chain for which one more person is tried."""

MOST_OUT = 4
MOST_AFTER = 4


def remedies_at_hand(
    problem: Problem,
    plan: Plan,
    van: str,
    *,
    may_go_out: Collection[str] = (),
    may_wait: Collection[str] = (),
) -> tuple[Remedy, ...]:
    """The remedies that the van's chain of reasons suggests, none of them tried yet.

    Only tasks of `may_go_out` are given out and only tasks of `may_wait` are left until after handover:
    the caller knows which of them somebody must prove. Empty when nothing of the van is planned.
    """
    tasks = {t.id: t for t in problem.tasks}
    steps = [s for s in chain(problem, plan, van) if tasks[s.task].state == "to do"]
    found = [
        *_hands(problem, tasks, steps),
        *_places(problem, tasks, steps, van),
        *_dates(problem, plan, tasks, steps, van),
        *(Remedy("pin", task=s.task) for s in steps if s.reason.code == "pin"),
        *_visits(problem, tasks, steps),
        *_out(tasks, steps, may_go_out),
        *(Remedy("after", task=i) for i in _last(steps, tasks, van, may_wait)),
    ]
    return tuple(dict.fromkeys(found))


def _hands(problem: Problem, tasks: dict[str, Task], steps: list[Step]) -> list[Remedy]:
    """One more person of the trades that the chain waits for, in its weeks; visitors' trades left out."""
    visitors = {t for f in problem.fitters if not f.helps for t in f.trades}
    staff = {t for f in problem.fitters if f.helps for t in f.trades}
    wanted: Counter[Remedy] = Counter()
    for step in steps:
        task = tasks[step.task]
        if task.trade in visitors and task.trade not in staff:
            continue
        week = monday_of(day_at(step.start, problem.opening.zone))
        weight = task.minutes * (3 if step.reason.code == "person" else 1)
        wanted[Remedy("hands", trade=task.trade, week=week)] += weight
        if step.reason.code == "person":
            wanted[Remedy("hands", trade=task.trade, week=week - timedelta(days=7))] += task.minutes
    today = monday_of(day_at(problem.now, problem.opening.zone))
    return [r for r, _ in wanted.most_common() if r.week and r.week >= today][:MOST_WEEKS]


def _places(problem: Problem, tasks: dict[str, Task], steps: list[Step], van: str) -> list[Remedy]:
    """Counted places where another van's work, or its people, kept this one's from starting."""
    found = []
    for step in steps:
        task, reason = tasks[step.task], step.reason
        place = problem.places.get(task.place)
        if task.van != van or place is None or place.room is None:
            continue
        by_another = reason.code in ("place", "person") and reason.ref and tasks[reason.ref].van != van
        if by_another or reason.code == "bay":
            found.append(Remedy("first", place=task.place))
    return found


def _dates(problem: Problem, plan: Plan, tasks: dict[str, Task], steps: list[Step], van: str) -> list[Remedy]:
    """Deliveries, decisions and agreed dates that bind: settled by the day before they are wanted.

    That day is found by planning with the thing here at once: when its first task then starts.
    """
    zone = problem.opening.zone
    today = day_at(problem.now, zone)
    found = []
    for step in steps:
        if step.reason.code not in ("delivery", "decision", "agreed") or step.reason.until is None:
            continue
        here = Remedy(
            "date",
            task=step.task,
            ref=step.reason.ref,
            what=step.reason.code,
            day=today - timedelta(days=1),
        )
        waits = {
            t.id
            for t in tasks.values()
            if any((n.kind, n.ref) == (here.what, here.ref) for n in t.not_before)
        }
        at_once = plan_with(problem, plan.order, van, here)
        wanted = min((p.start for p in at_once.planned if p.task in waits), default=None)
        last = day_at(step.reason.until, zone) - timedelta(days=2)
        day = last if wanted is None else min(last, day_at(wanted, zone) - timedelta(days=1))
        if day >= today:
            found.append(replace(here, day=day))
    return found


def _visits(problem: Problem, tasks: dict[str, Task], steps: list[Step]) -> list[Remedy]:
    """A visitor who was waited for comes on the first open day on which their work could begin."""
    visitors = {f.id: f for f in problem.fitters if not f.helps}
    found = []
    for step in steps:
        visitor = visitors.get(step.reason.who or "")
        if step.reason.code != "person" or step.reason.ref or visitor is None:
            continue
        behind = next((s for s in steps if s.task == step.behind), None)
        ready = behind.finish if behind else problem.now
        links = [k.wait for k in tasks[step.task].after if behind and k.task == behind.task]
        day = day_at(ready + max(links, default=0), problem.opening.zone)
        last = day_at(step.start, problem.opening.zone)
        for ahead in range((last - day).days):
            one = day + timedelta(days=ahead)
            if open_stretches(problem.opening, one) and not works_on(visitor, one):
                found.append(Remedy("visit", fitter=visitor.id, day=one, task=step.task))
            if len(found) > 3:
                break
    return found


def _out(tasks: dict[str, Task], steps: list[Step], allowed: Collection[str]) -> list[Remedy]:
    """The longest work in the chain that needs no van."""
    mine = [tasks[s.task] for s in steps if s.task in allowed and not tasks[s.task].needs_van]
    mine.sort(key=lambda t: -t.minutes)
    return [Remedy("out", task=t.id) for t in mine[:MOST_OUT]]


def _last(steps: list[Step], tasks: dict[str, Task], van: str, allowed: Collection[str]) -> list[str]:
    """The last work in the chain that may be done after handover."""
    return [s.task for s in steps if s.task in allowed and tasks[s.task].van == van][:MOST_AFTER]
