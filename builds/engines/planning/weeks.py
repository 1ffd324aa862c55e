"""The first week a task can start in, by what is physical alone: people and places left aside."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from .calendar import day_at, monday_of, week_bounds
from .plan import Reason, Unplanned
from .prepare import Prepared, prepare
from .problem import Problem, Task
from .rules import in_link_order


@dataclass(frozen=True, slots=True)
class FirstWeek:
    """The Monday of the first week that can, the instant in it, and what holds the task until then.

    `impossible` is set instead where no week can.
    """

    monday: date | None
    at: int | None
    reason: Reason | None
    impossible: Unplanned | None = None


def first_week_that_can(problem: Problem, task_id: str, prepared: Prepared | None = None) -> FirstWeek:
    """The first week in which a task can physically start, for an owner who wants to pin it.

    Only the van's stay, predecessors with their waits, and dates from outside (deliveries, decisions)
    count; so do pins on predecessors, since they are the owner's word too. The task's own pin and told
    week are left aside. Pass `prepared` where one is at hand. Raises KeyError for an unknown task.
    """
    prepared = prepared or prepare(problem)
    number = prepared.numbers[task_id]
    why = prepared.unplanned.get(task_id)
    if why is not None and why.code in ("loop", "follows", "no van"):
        return FirstWeek(None, None, None, why)
    bound, reason = _bounds(prepared, number)
    axis, zone = prepared.axis, problem.opening.zone
    at = axis.at[bound] if bound < len(axis.at) else None
    if at is None:
        return FirstWeek(None, None, reason, Unplanned(task_id, "no time"))
    return FirstWeek(monday_of(day_at(at, zone)), at, reason)


def _bounds(prepared: Prepared, number: int) -> tuple[int, Reason]:
    """The earliest slot of one job by the links alone, worked forward from what it depends on."""
    behind, spread = {number}, [number]
    while spread:
        for p, _ in prepared.jobs[spread.pop()].after:
            if p not in behind:
                behind.add(p)
                spread.append(p)
    ends: dict[int, int] = {}
    bound: tuple[int, Reason] = (0, Reason("now"))
    for n in in_link_order(prepared, sorted(behind)):
        bound = _earliest(prepared, n, ends, pinned=n != number)
        ends[n] = _finish(prepared, n, bound[0])
    return bound


def _earliest(prepared: Prepared, number: int, ends: dict[int, int], pinned: bool) -> tuple[int, Reason]:
    problem, axis = prepared.problem, prepared.axis
    task, job = problem.tasks[number], prepared.jobs[number]
    found = [(0, 0, Reason("now"))]
    for outside in task.not_before:
        found.append((axis.slot(outside.at), 2, Reason(outside.kind, outside.ref, until=outside.at)))
    if pinned and task.pin_week:
        monday = week_bounds(monday_of(task.pin_week), problem.opening.zone)[0]
        found.append((axis.slot(monday), 1, Reason("pin", task.id)))
    for link in task.after:
        if link.task in prepared.numbers:
            ready = ends[prepared.numbers[link.task]] + link.wait
            found.append(
                (axis.slot(ready), 3, Reason("wait" if link.wait else "after", link.task, until=ready))
            )
    slot, _, reason = max(found, key=lambda f: (f[0], f[1]))
    if job.needs_van:
        stays = [(a, b) for a, b in prepared.windows[job.van] if b > slot]
        if stays and stays[0][0] > slot:
            slot = stays[0][0]
            reason = Reason("arrival", task.van, until=axis.at[slot] if slot < len(axis.at) else None)
    return slot, reason


def _finish(prepared: Prepared, number: int, start: int) -> int:
    """When the job could finish with the shop's hours alone, as an instant."""
    problem, axis, before = prepared.problem, prepared.axis, prepared.shop_before
    task: Task = problem.tasks[number]
    if task.state == "done":
        return task.finished if task.finished is not None else problem.now
    wanted = before[min(start, len(axis.at))] + prepared.jobs[number].slots
    low, high = start, len(axis.at)
    while low < high:
        middle = (low + high) // 2
        if before[middle] < wanted:
            low = middle + 1
        else:
            high = middle
    return axis.end(low) if low else problem.now
