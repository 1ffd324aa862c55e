"""What one plan changes against another, stored and read again: handovers, tasks that move, who does what."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from builds.engines.planning.lateness import difference
from builds.engines.planning.plan import Plan
from builds.models import Task
from builds.queries.opening import OpeningTimes, instant

MOST_ROWS = 12

Row = tuple[int, str, str]
"""A task that moves: its pk, its start before and after as ISO texts."""


@dataclass(frozen=True, slots=True)
class PersonChange:
    """How many tasks a person gets and gives up."""

    name: str
    gets: int
    gives: int


@dataclass(frozen=True, slots=True)
class MovedTask:
    name: str
    van: str
    build: int
    before: date
    after: date
    was_told: bool


def changes_of(before: Plan, after: Plan) -> dict[str, Any]:
    """What one plan changes against another, ready to store: ids as numbers, instants as ISO texts.

    `handovers` by build [before, after]; `moved` rows of task, before, after; `hands` rows of task, crew
    before, crew after; `tasks` how many are in both.
    """
    found = difference(before, after)
    return {
        "tasks": found.tasks,
        "handovers": {v: [_iso(a), _iso(b)] for v, (a, b) in found.handovers.items()},
        "moved": [[int(m.task), _iso(m.before), _iso(m.after)] for m in found.moved],
        "hands": [[int(t), [int(p) for p in a], [int(p) for p in b]] for t, (a, b) in found.hands.items()],
    }


def people_of(changes: Mapping[str, Any], people: Iterable[tuple[int, str]]) -> tuple[PersonChange, ...]:
    """Who of some people gets and gives up how many tasks."""
    gets: Counter[int] = Counter()
    gives: Counter[int] = Counter()
    for _, before, after in changes.get("hands", []):
        gets.update(set(after) - set(before))
        gives.update(set(before) - set(after))
    touched = gets | gives
    return tuple(PersonChange(name, gets[pk], gives[pk]) for pk, name in people if pk in touched)


def shown_of(rows: Sequence[Row], told: Collection[int]) -> list[Row]:
    """The first of the rows of tasks that move: told work before other work, then what is soonest."""
    return sorted(rows, key=lambda r: (r[0] not in told, r[1]))[:MOST_ROWS]


def moved_of(
    rows: Iterable[Row], told: Collection[int], tasks: Mapping[int, Task], times: OpeningTimes
) -> tuple[MovedTask, ...]:
    """The rows that are shown, in words; `tasks` by pk, with their builds, units and installations."""
    found = []
    for pk, before, after in rows:
        task, first, then = tasks.get(pk), day_of(before, times), day_of(after, times)
        if task and first and then:
            van = f"{task.build.name}, {task.group_name}"
            found.append(MovedTask(task.name, van, task.build_id, first, then, pk in told))
    return tuple(found)


def named_tasks(pks: Iterable[int]) -> dict[int, Task]:
    """Tasks by pk with what names them; one query."""
    return Task.objects.select_related("build", "unit", "installation").in_bulk(list(pks))


def day_of(text: str | None, times: OpeningTimes) -> date | None:
    """The shop's day of a stored instant."""
    return times.day_of(datetime.fromisoformat(text)) if text else None


def _iso(at: int | None) -> str | None:
    return instant(at).isoformat() if at is not None else None
