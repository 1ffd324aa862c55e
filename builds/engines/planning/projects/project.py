"""A plain project: activities with lengths and uses of counted resources, and what follows what.

Why not `problem.Problem`: published projects count up to some sixty of a thing, use several at once and
know no people, calendars, vans or waits. Their search is that of the shop (keys, justification, windows);
the decoder differs (see `passes`).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Activity:
    """`length` in periods, `uses` how much of each resource all the while, `after` by number; `release`
    is the first period it may start in."""

    length: int
    uses: tuple[int, ...]
    after: tuple[int, ...] = ()
    release: int = 0


@dataclass(frozen=True, slots=True)
class Project:
    """Activities numbered from 0, every one after those it follows may start; `capacities` by resource.

    Several projects that share resources are one: their activities together.
    """

    activities: tuple[Activity, ...]
    capacities: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Schedule:
    """Starts by activity. `is_proven` tells that no schedule ends sooner; none ends before `lower_bound`."""

    starts: tuple[int, ...]
    makespan: int
    lower_bound: int

    @property
    def is_proven(self) -> bool:
        return self.makespan <= self.lower_bound


class ImpossibleProject(ValueError):
    """An activity that waits for itself or uses more than there is; `activity` is its number."""

    def __init__(self, activity: int, why: str) -> None:
        super().__init__(f"activity {activity}: {why}")
        self.activity = activity


def in_order(project: Project) -> list[int]:
    """The activities with each behind all that it follows. Raises `ImpossibleProject` on a loop."""
    missing = [len(set(a.after)) for a in project.activities]
    behind = followers(project)
    free = [n for n, count in enumerate(missing) if not count]
    for n in free:
        for f in behind[n]:
            missing[f] -= 1
            if not missing[f]:
                free.append(f)
    if len(free) < len(missing):
        raise ImpossibleProject(next(n for n, count in enumerate(missing) if count), "waits for itself")
    return free


def followers(project: Project) -> list[list[int]]:
    """By activity, those that follow it."""
    behind: list[list[int]] = [[] for _ in project.activities]
    for n, activity in enumerate(project.activities):
        for p in set(activity.after):
            behind[p].append(n)
    return behind


def tails(project: Project) -> list[int]:
    """By activity, the least time from its start to the end of the project: its longest chain."""
    tail = [a.length for a in project.activities]
    for n in reversed(in_order(project)):
        for p in project.activities[n].after:
            tail[p] = max(tail[p], tail[n] + project.activities[p].length)
    return tail


def heads(project: Project) -> list[int]:
    """By activity, the first period it may start in by releases and chains alone."""
    head = [a.release for a in project.activities]
    for n in in_order(project):
        for p in project.activities[n].after:
            head[n] = max(head[n], head[p] + project.activities[p].length)
    return head


def least_makespan(project: Project) -> int:
    """A bound no schedule beats: the longest chain, and each resource's work over its capacity with the
    least head before and the least tail after it."""
    head, tail = heads(project), tails(project)
    bound = max((h + t for h, t in zip(head, tail, strict=True)), default=0)
    for k, capacity in enumerate(project.capacities):
        users = [n for n, a in enumerate(project.activities) if a.uses[k] and a.length]
        if not users:
            continue
        work = sum(project.activities[n].uses[k] * project.activities[n].length for n in users)
        first = min(head[n] for n in users)
        last = min(tail[n] - project.activities[n].length for n in users)
        bound = max(bound, first + -(-work // capacity) + last)
    return bound
