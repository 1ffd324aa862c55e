"""What the planner is given: the shop, its people, its vans and their work.

Instants are whole minutes since 1970-01-01 00:00 UTC; where the shop has no time zone they are
minutes of a plain clock reading. Lengths of work and of waits are whole minutes. Everything here
is frozen and picklable, so that a plan can be made in another process and compared by value.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

Spans = tuple[tuple[int, int], ...]
"""Opening spans of one day, each (from, to) in minutes after local midnight."""


@dataclass(frozen=True, slots=True)
class Opening:
    """When the shop works: local opening spans by weekday (0 is Monday), less the closed days."""

    week: Mapping[int, Spans]
    closed: frozenset[date] = frozenset()
    zone: str | None = None
    slot_minutes: int = 15


@dataclass(frozen=True, slots=True)
class Place:
    """Where work happens and how much of it at once.

    `room` is None where anything fits. `counts` says what takes room up: "jobs" or "people".
    `per_van` rooms are counted for each van on its own (inside a van). `holds_bay` work keeps the
    van in a bay from its first such start to its last such finish. Work at places with different
    `position` of one van never overlaps, and a change of position takes the shop's move time, counted
    while anybody is at work.
    """

    key: str
    room: int | None = None
    counts: str = "jobs"
    per_van: bool = False
    holds_bay: bool = False
    position: str | None = None


@dataclass(frozen=True, slots=True)
class Fitter:
    """One person. `trades` are those they may lead; an apprentice has none and only helps.

    `days` are weekdays worked (None: all that the shop opens), `hours` their own spans where these
    differ, `away` absences as (from, to) instants. Visitors (`helps` False) do only their trade;
    `booked` are the dates they are booked for: up to the last of them no other date counts, after
    it their usual days do.
    """

    id: str
    trades: frozenset[str]
    helps: bool = True
    days: frozenset[int] | None = None
    hours: Mapping[int, Spans] | None = None
    away: tuple[tuple[int, int], ...] = ()
    booked: frozenset[date] | None = None


@dataclass(frozen=True, slots=True)
class Van:
    """One build's van: when it is here, the promised handover and what a late day weighs.

    `here` are (from, to) instants; the last `to` may be None. `in_bay` tells that it stands in a
    bay now.
    """

    id: str
    here: tuple[tuple[int, int | None], ...]
    promised: date | None = None
    weight: int = 1
    in_bay: bool = False


@dataclass(frozen=True, slots=True)
class Link:
    """The follower may start `wait` clock minutes after `task` finishes.

    `latest`, where given, is the clock time by which it should start (a recoat window): a miss is
    flagged, never forbidden. `purpose` says what the wait is for ("to harden").
    """

    task: str
    wait: int = 0
    latest: int | None = None
    purpose: str = ""


@dataclass(frozen=True, slots=True)
class NotBefore:
    """A date from outside the network: `kind` is "delivery", "decision" or "agreed"; `ref` names it."""

    at: int
    kind: str
    ref: str


@dataclass(frozen=True, slots=True)
class Task:
    """One piece of work by a crew of one lead and `crew` - 1 helpers at a place.

    `minutes` is working time for the whole crew, `left` what remains of it once under way.
    `dries_here` keeps the place taken for clock minutes after the finish; `rack` then takes that
    many clock minutes of drying-rack room. `claims_van` lets nobody else work on the van.
    `still` is how many clock minutes after the finish the van may not be moved. `waits_for_word`
    says why it can't be planned until somebody decides (a failed check, a stopped task).
    `fitters` is the crew, lead first, that is on it or did it.
    """

    id: str
    van: str
    minutes: int
    trade: str
    place: str
    crew: int = 1
    needs_van: bool = True
    after: tuple[Link, ...] = ()
    same_day: bool = False
    not_before: tuple[NotBefore, ...] = ()
    pin_week: date | None = None
    told_week: date | None = None
    dries_here: int = 0
    rack: int = 0
    claims_van: bool = False
    still: int = 0
    state: str = "to do"
    started: int | None = None
    finished: int | None = None
    left: int | None = None
    fitters: tuple[str, ...] = ()
    waits_for_word: str | None = None


@dataclass(frozen=True, slots=True)
class Problem:
    """A whole shop to plan, at instant `now`.

    `order`, `crews` and `holds` are the owner's stored choices: the order that tasks are placed in, who
    does them, and instants before which a task is not started so that a plan once told stays as it is.
    """

    opening: Opening
    places: Mapping[str, Place]
    fitters: tuple[Fitter, ...]
    vans: tuple[Van, ...]
    tasks: tuple[Task, ...]
    now: int
    bays: int | None = None
    rack_room: int | None = None
    move_minutes: int = 0
    order: tuple[str, ...] = ()
    crews: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    holds: Mapping[str, int] = field(default_factory=dict)
