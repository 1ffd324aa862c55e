"""A search for a better plan and what it found: how it stands, and what taking it changes for whom."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import F

from builds.models import Build, Person, Proposal, Shop, ToldRow
from builds.queries.forecast import open_days_after
from builds.queries.opening import OpeningTimes, opening_times
from builds.queries.plan_changes import (
    MovedTask,
    PersonChange,
    day_of,
    moved_of,
    named_tasks,
    people_of,
    shown_of,
)
from builds.templatetags.words import count

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


def proposal_page(shop: Shop) -> ProposalPage:
    """The last search and its result; at most nine queries."""
    found = Proposal.objects.first()
    times = opening_times(shop)
    changes = found.changes if found and found.state in ("ready", "taken") else {}
    rows = sorted(changes.get("moved", []), key=lambda m: m[1])
    told = set(ToldRow.objects.filter(task__in=[r[0] for r in rows]).values_list("task_id", flat=True))
    shown = shown_of(rows, told)
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
        people=people_of(changes, Person.objects.order_by("position", "name").values_list("pk", "name")),
        moved=moved_of(shown, told, named_tasks(r[0] for r in shown), times),
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
    builds = Build.objects.filter(pk__in=[int(b) for b in handovers])
    for build in builds.order_by(F("promised_on").asc(nulls_last=True), "name"):
        before, after = (day_of(text, times) for text in handovers[str(build.pk)])
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
