"""A search for a better plan and what it found: how it stands, and what taking it changes for whom."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from builds.engines.planning.lateness import difference
from builds.engines.planning.plan import Plan
from builds.models import Build, Person, Proposal, Shop, Task, ToldRow
from builds.queries.forecast import open_days_after
from builds.queries.opening import OpeningTimes, instant, opening_times
from builds.templatetags.words import count

MOST_ROWS = 12
DRAWING_BOX = 40, 630, 10, 120
"""Left, right, top and foot of where the late days are drawn."""


@dataclass(frozen=True, slots=True)
class VanChange:
    """One van's handover now and by the proposal; `days_sooner` counts opening days, later is negative."""

    build: int
    name: str
    promised: date | None
    before: date | None
    after: date | None
    days_sooner: int
    is_late_before: bool
    is_late_after: bool

    @property
    def days_later(self) -> int:
        return -self.days_sooner


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


@dataclass(frozen=True, slots=True)
class FallDrawing:
    """How the late days fell while it looked: `points` in a box of 640 by 150, with its two ends in words."""

    points: str
    most: str
    until: str
    words: str


@dataclass(frozen=True, slots=True)
class ProposalPage:
    """The last search. `late` are the weighted late days now or so far, `late_before` those of the plan.

    `drawing` is there once anything fell. `moved` are the soonest of the `moved_count` tasks that start a
    day or more off.
    """

    proposal: Proposal | None
    late_before: float | None
    late: float | None
    share_done: int
    drawing: FallDrawing | None
    vans: tuple[VanChange, ...]
    people: tuple[PersonChange, ...]
    moved: tuple[MovedTask, ...]
    moved_count: int
    told_count: int
    tasks: int

    @property
    def spent_words(self) -> str:
        return _time_words(self.proposal.seconds_spent if self.proposal else 0)

    @property
    def nothing_words(self) -> str:
        tries = count(self.proposal.tries, "order,orders") if self.proposal else "no orders"
        return f"{tries} tried in {self.spent_words}. The plan as it is stood up to all of them."

    @property
    def tag(self) -> str:
        """Changes whenever the page would look different."""
        found = self.proposal
        if found is None:
            return "none"
        so_far = f"{found.seconds_spent}-{len(found.steps)}-{found.stop_asked}"
        return f"{found.pk}-{found.run}-{found.state}-{so_far}"


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


def proposal_page(shop: Shop) -> ProposalPage:
    """The last search and its result; at most nine queries."""
    found = Proposal.objects.first()
    times = opening_times(shop)
    changes = found.changes if found and found.state in ("ready", "taken") else {}
    rows = sorted(changes.get("moved", []), key=lambda m: m[1])
    told = set(ToldRow.objects.filter(task__in=[r[0] for r in rows]).values_list("task_id", flat=True))
    steps = found.steps if found else []
    late = found.late_after if found and found.late_after is not None else steps[-1][1] if steps else None
    before = found.late_before if found else None
    return ProposalPage(
        proposal=found,
        late_before=before,
        late=before if late is None else min(late, before) if before is not None else late,
        share_done=min(100, round(100 * found.seconds_spent / found.seconds)) if found else 0,
        drawing=_drawing(found) if found else None,
        vans=_vans(changes, times),
        people=_people(changes),
        moved=_moved(rows, told, times),
        moved_count=len(rows),
        told_count=len(told),
        tasks=changes.get("tasks", 0),
    )


def _drawing(found: Proposal) -> FallDrawing | None:
    """The late days as they fell over the time looked, as steps."""
    most = found.late_before or max((late for _, late in found.steps), default=0.0)
    if not most or not found.steps:
        return None
    end = max(found.seconds_spent, found.steps[-1][0], 1.0)
    rows, lowest = [(0.0, most)], most
    for seconds, late in found.steps:
        rows.append((seconds, lowest))
        lowest = min(lowest, late)
        rows.append((seconds, lowest))
    rows.append((end, lowest))
    left, right, top, foot = DRAWING_BOX
    points = " ".join(
        f"{left + (right - left) * s / end:.1f},{foot - (foot - top) * late / most:.1f}" for s, late in rows
    )
    words = f"Weighed late days fell from {most:.1f} to {lowest:.1f} in {_time_words(end)}"
    return FallDrawing(points, f"{most:.1f}", _time_words(end), words)


def _time_words(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest} s" if minutes else f"{rest} s"


def _vans(changes: dict[str, Any], times: OpeningTimes) -> tuple[VanChange, ...]:
    handovers = changes.get("handovers", {})
    found = []
    for build in Build.objects.filter(pk__in=[int(b) for b in handovers]).order_by("promised_on", "name"):
        before, after = (_day(text, times) for text in handovers[str(build.pk)])
        if before == after:
            continue
        sooner = 0
        if before and after:
            sooner = open_days_after(after, before, times) - open_days_after(before, after, times)
        due = build.promised_on
        found.append(
            VanChange(
                build.pk,
                build.name,
                due,
                before,
                after,
                sooner,
                is_late_before=bool(due and before and before > due),
                is_late_after=bool(due and after and after > due),
            )
        )
    return tuple(found)


def _people(changes: dict[str, Any]) -> tuple[PersonChange, ...]:
    gets: Counter[int] = Counter()
    gives: Counter[int] = Counter()
    for _, before, after in changes.get("hands", []):
        gets.update(set(after) - set(before))
        gives.update(set(before) - set(after))
    rows = Person.objects.filter(pk__in=gets | gives).order_by("position", "name").values_list("pk", "name")
    return tuple(PersonChange(name, gets[pk], gives[pk]) for pk, name in rows)


def _moved(rows: list, told: set[int], times: OpeningTimes) -> tuple[MovedTask, ...]:
    """Told work first, then what is soonest."""
    shown = sorted(rows, key=lambda r: (r[0] not in told, r[1]))[:MOST_ROWS]
    tasks = Task.objects.select_related("build", "unit", "installation").in_bulk([r[0] for r in shown])
    found = []
    for pk, before, after in shown:
        task, first, then = tasks.get(pk), _day(before, times), _day(after, times)
        if task and first and then:
            found.append(
                MovedTask(
                    task.name, f"{task.build.name}, {task.group_name}", task.build_id, first, then, pk in told
                )
            )
    return tuple(found)


def _iso(at: int | None) -> str | None:
    return instant(at).isoformat() if at is not None else None


def _day(text: str | None, times: OpeningTimes) -> date | None:
    return times.day_of(datetime.fromisoformat(text)) if text else None
