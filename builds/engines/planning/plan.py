"""What the planner gives back: a start with its reason for every task that can be planned."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date


@dataclass(frozen=True, slots=True)
class Reason:
    """What bound a start: `code` with the task, person, place or other thing it names.

    Codes: "now", "arrival" (van not here), "after" (task `ref`), "wait" (task `ref`, its wait ended
    at `until`), "person" (`who` was busy on task `ref`, or away when `ref` is None), "place"
    (`place` was taken by task `ref`), "bay" (by van `ref`), "van" (work `ref` on the same van kept
    it), "move" (the van was moved, task `ref` before), "delivery", "decision", "agreed" (`ref`
    names it), "pin", "told", "kept" (the time it was planned for before), "closed" (nothing else: the
    shop was shut), "started", "day" (must
    finish the day it starts and the day before was too short).
    """

    code: str
    ref: str | None = None
    who: str | None = None
    place: str | None = None
    until: int | None = None


@dataclass(frozen=True, slots=True)
class Planned:
    """A task in the plan: from `start` to `finish` with `fitters`, lead first."""

    task: str
    start: int
    finish: int
    fitters: tuple[str, ...]
    reason: Reason


@dataclass(frozen=True, slots=True)
class Unplanned:
    """A task that can't be planned. Codes: "no trade", "loop", "too long for a day", "crew too
    small", "no room", "no van", "follows" (task `ref` is unplanned), "word" (somebody must decide),
    "no time" (nobody's hours ever meet)."""

    task: str
    code: str
    ref: str | None = None


@dataclass(frozen=True, slots=True)
class Flag:
    """Something true but unwelcome: "pin broken", "told broken", "window missed" (link from `ref`)."""

    task: str
    code: str
    ref: str | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """The whole answer. `order`, the crews and `holds`, stored, decode to this same plan again."""

    planned: tuple[Planned, ...]
    unplanned: tuple[Unplanned, ...]
    flags: tuple[Flag, ...]
    handovers: dict[str, int | None]
    order: tuple[str, ...]
    moves: int = 0
    holds: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Lateness:
    """How late a plan hands over: by van in opening days, and weighed."""

    days_by_van: dict[str, float]
    weighted_days: float
    promised: dict[str, date | None]
