"""Plain rules that put tasks in order: by how late each may start for its van to keep its promise."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush

from .calendar import week_bounds
from .prepare import Job, Prepared


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule that places first what must start first for its van to be in time.

    Work is counted `stretch` times its length, since people and places are shared; each unit of a
    van's weight counts as `lead` slots less time.
    """

    stretch: float
    lead: float


RULES = (Rule(2.0, 60.0), Rule(1.5, 60.0), Rule(2.5, 60.0), Rule(3.0, 60.0), Rule(2.0, 0.0), Rule(1.5, 0.0))
"""Tried in turn for a first plan; the first slots new work into a stored order."""

FULL_SHOP_RULE = Rule(2.0, 300.0)
"""Where vans are late by weeks a weight has to count for weeks: a light van waits for a heavy one."""

LATE_BY_WEEKS = 5.0
"""Weighted late days a van from which a shop counts as full."""


def latest_starts(prepared: Prepared, links: Sequence[int], rule: Rule) -> list[float]:
    """By job, the slot by which it should start under a rule; `links` are all jobs in link order."""
    jobs = prepared.jobs
    a_minute = _slots_a_minute(prepared)
    last = [_due(prepared, j) - j.slots * rule.stretch for j in jobs]
    for number in reversed(links):
        for p, wait in jobs[number].after:
            last[p] = min(last[p], last[number] - wait * a_minute - _length(jobs[p]) * rule.stretch)
    for job in jobs:
        if job.van >= 0:
            last[job.number] -= rule.lead * prepared.weights[job.van]
    return last


def in_link_order(prepared: Prepared, order: Sequence[int]) -> list[int]:
    """`order` with every job moved behind those predecessors that stand in it, otherwise unchanged."""
    place = {number: k for k, number in enumerate(order)}
    jobs = prepared.jobs
    missing = {n: sum(p in place for p, _ in jobs[n].after) for n in order}
    free = [(place[n], n) for n in order if not missing[n]]
    heapify(free)
    found = []
    while free:
        _, number = heappop(free)
        found.append(number)
        for follower in jobs[number].followers:
            if follower in missing:
                missing[follower] -= 1
                if missing[follower] == 0:
                    heappush(free, (place[follower], follower))
    return found


def by_keys(prepared: Prepared, key: Sequence[float], todo: Sequence[int]) -> list[int]:
    """The jobs of `todo` by key, links kept."""
    return in_link_order(prepared, sorted(todo, key=lambda n: (key[n], n)))


def with_stored(
    prepared: Prepared, stored: Sequence[int], key: Sequence[float], todo: Sequence[int]
) -> list[int]:
    """The stored order, with jobs it does not name slotted in where the rule's key puts them."""
    named = set(stored)
    wanted = set(todo)
    kept = [n for n in stored if n in wanted]
    new = by_keys(prepared, key, [n for n in todo if n not in named])
    highest: list[float] = []
    for n in kept:
        highest.append(max(key[n], highest[-1]) if highest else key[n])
    merged, k = [], 0
    for n in new:
        while k < len(kept) and highest[k] <= key[n]:
            merged.append(kept[k])
            k += 1
        merged.append(n)
    return in_link_order(prepared, merged + kept[k:])


def lifted(prepared: Prepared, order: Sequence[int], first: Collection[int]) -> list[int]:
    """`order` with the jobs of `first` and all that must come before them in front."""
    wanted = set(first)
    spread = list(first)
    while spread:
        for p, _ in prepared.jobs[spread.pop()].after:
            if p not in wanted:
                wanted.add(p)
                spread.append(p)
    return [n for n in order if n in wanted] + [n for n in order if n not in wanted]


def _due(prepared: Prepared, job: Job) -> float:
    """By when the job should be done for its own sake: its van's promise or the end of its pinned week."""
    due = prepared.due[job.van] if job.van >= 0 else None
    bound = float(due) if due is not None else len(prepared.axis.at) + 0.0
    task = prepared.problem.tasks[job.number]
    for monday in (task.pin_week, task.told_week):
        if monday is not None:
            end = prepared.axis.slot(week_bounds(monday, prepared.problem.opening.zone)[1])
            bound = min(bound, end + job.slots - 1.0)
    return bound


def _length(job: Job) -> int:
    return job.slots if job.hands is not None else 0


def _slots_a_minute(prepared: Prepared) -> float:
    week = prepared.problem.opening.week
    return sum(b - a for spans in week.values() for a, b in spans) / prepared.axis.step / 10080
