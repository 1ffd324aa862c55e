"""Plain rules that put tasks in order: by how late each may start for its van to keep its promise."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush

from .calendar import week_bounds
from .prepare import Job, Prepared

FAR = 10**6
"""A van's worth of slots: more than any plan is long."""


@dataclass(frozen=True)
class Slack:
    """By job: the first and the last slot at which it may start, people and places left aside."""

    first: list[float]
    last: list[float]
    order: list[int]


def slack(prepared: Prepared) -> Slack:
    """Earliest and latest starts from the links alone; latest against promises and pinned weeks."""
    jobs = prepared.jobs
    order = in_link_order(prepared, range(len(jobs)))
    a_minute = _slots_a_minute(prepared)
    first = [float(j.early) for j in jobs]
    for number in order:
        job = jobs[number]
        if job.needs_van and prepared.windows[job.van]:
            first[number] = max(first[number], prepared.windows[job.van][0][0])
        for p, wait in job.after:
            first[number] = max(first[number], first[p] + _length(jobs[p]) + wait * a_minute)
    last = [_due(prepared, j) - j.slots for j in jobs]
    for number in reversed(order):
        for p, wait in jobs[number].after:
            last[p] = min(last[p], last[number] - wait * a_minute - _length(jobs[p]))
    return Slack(first, last, order)


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


def keys(prepared: Prepared, known: Slack) -> list[list[float]]:
    """One list of keys a rule: sorted by them, jobs stand in the order that the rule places them."""
    jobs = prepared.jobs
    promised = sorted(
        range(len(prepared.due)),
        key=lambda v: (FAR if prepared.due[v] is None else prepared.due[v], -prepared.weights[v], v),
    )
    rank = {van: k for k, van in enumerate(promised)}
    rank[-1] = len(rank)
    last = known.last
    return [
        list(last),
        [rank[j.van] * FAR + last[j.number] for j in jobs],
        [0.5 * (known.first[j.number] + last[j.number]) for j in jobs],
        [last[j.number] + rank[j.van] * 100 for j in jobs],
    ]


def by_keys(prepared: Prepared, key: Sequence[float], todo: Sequence[int]) -> list[int]:
    """The jobs of `todo` by key, links kept, with followers of a closing window next to what opens it."""
    order = sorted(todo, key=lambda n: (key[n], n))
    return in_link_order(prepared, order)


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


def lifted(prepared: Prepared, order: Sequence[int], first: Mapping[int, bool]) -> list[int]:
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
