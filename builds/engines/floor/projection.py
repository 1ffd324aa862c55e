"""What a task is, worked out from what people did to it.

The rules where the doings of several people cross:

1. Events count in the order in which they happened (the tablet's clock, put right by the offset measured
   when it sent them), then in the order in which they came. A late one takes its place in that order, not
   at the end.
2. Nothing that was kept is thrown away. An event that was undone, and the undoing, leave the state alone;
   an event that was refused never touched it.
3. Done stays done until it is undone, reopened or its check fails. A start, stop or "half a day left" by
   somebody who did not know of the tick changes nothing; the two disagree, and the owner settles it.
4. Two ticks are one: the first one's time and hours stand, the second person is added to the crew. They
   disagree only where they give different hours; where the first gave none, the second one's count.
5. A second start joins the crew. The first start is when the task began.
6. A passed or overruled check ticks its task; a failed one stops it until the recheck.
7. Reopened work is to do again with the hours given then; hours of the earlier round are added to.
8. Where two doings disagree the owner settles it by an event of their own, which names the two and the one
   that counts. Keeping the later one sets the tick before it aside, with its hours; keeping the tick leaves
   things as rule 3 and 4 have them. The owner's last word counts, and can be given again.
9. The owner corrects the hours and the crew of a tick by an event too; the last correction counts.
10. A sheet that was cut adds its hours to each unit's cutting and says what is left of it; when nothing is,
    the cutting is done. On cutting ticked before it changes nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import Decimal
from typing import Any

RECHECK = "waits for a recheck"

CHANGES_STATE = frozenset(
    {
        "start",
        "tick",
        "half a day left",
        "sheet cut",
        "stop",
        "go on",
        "pass",
        "fail",
        "overrule",
        "check again",
        "bulk tick",
        "reopen",
        "settle",
        "hours",
    }
)
"""The verbs that bear on a task's state; all others are only remembered."""

ABOUT_OTHERS = frozenset({"settle", "hours"})
"""The owner's words about other events: they have no place of their own in the order."""


@dataclass(frozen=True)
class Event:
    """One thing that was done to a task. `payload` hours are working hours of the crew, as text."""

    id: int
    verb: str
    at: datetime
    person: int | None = None
    payload: Mapping[str, Any] = field(default_factory=dict)
    undoes: int | None = None
    was_refused: bool = False


@dataclass(frozen=True)
class Round:
    """One time that a task was done: the tick, when, the crew's working hours where they were given."""

    tick: int
    at: datetime
    hours: Decimal | None
    crew: tuple[int, ...]


@dataclass(frozen=True)
class TaskState:
    """The projection. `hours_left` is None where the plan's own figure still holds.

    `rounds` has an entry for each time the task was done; it is done once unless it was opened again.
    `hours_of_sheets` are those of the sheets cut so far.
    """

    state: str = "to do"
    started_at: datetime | None = None
    finished_at: datetime | None = None
    hours_left: Decimal | None = None
    rounds: tuple[Round, ...] = ()
    stop_reason: str = ""
    crew: tuple[int, ...] = ()
    hours_of_sheets: Decimal = Decimal(0)

    @property
    def hours_taken(self) -> Decimal | None:
        """The working hours of all rounds; None where none were ever given."""
        given = [r.hours for r in self.rounds if r.hours is not None]
        return sum(given, Decimal(0)) if given else None


@dataclass(frozen=True)
class Crossing:
    """Two doings that disagree: `event` came on top of `other`, the tick that was there already."""

    event: int
    other: int
    words: str


def project(events: Iterable[Event]) -> TaskState:
    """Gives the state of one task from all its events, in any order; no events: to do."""
    return _fold(events)[0]


def crossings(events: Iterable[Event]) -> tuple[Crossing, ...]:
    """Lists the events of one task that disagree with what was there before them (rules 3 and 4)."""
    return _fold(events)[1]


def _fold(events: Iterable[Event]) -> tuple[TaskState, tuple[Crossing, ...]]:
    kept = list(events)
    settled = _settled(kept)
    state, found = TaskState(), []
    for event in in_force(kept):
        words = _disagrees(state, event)
        if words:
            other = state.rounds[-1].tick
            wins = settled.get(frozenset((event.id, other)))
            if wins is None:
                found.append(Crossing(event.id, other, words))
            elif wins == event.id:
                state = _without_its_tick(state)
        state = _CHANGES[event.verb](state, event)
    return state, tuple(found)


def in_force(events: Iterable[Event]) -> list[Event]:
    """The events that bear on the state, in the order in which they happened, as the owner corrected them.

    What was undone is left out; so are the owner's words about others, once they are taken into account.
    """
    kept = [e for e in events if not e.was_refused]
    undone = {e.undoes for e in kept if e.undoes is not None}
    right = {int(e.payload["of"]): e for e in _in_order(kept) if e.verb == "hours" and e.payload.get("of")}
    bearing = [
        _corrected(e, right.get(e.id))
        for e in kept
        if e.verb in CHANGES_STATE - ABOUT_OTHERS and e.id not in undone
    ]
    return _in_order(bearing)


def _in_order(events: Iterable[Event]) -> list[Event]:
    return sorted(events, key=lambda e: (e.at, e.id))


def _settled(events: Iterable[Event]) -> dict[frozenset[int], int]:
    """Which of two doings counts, by the owner's last word on the two."""
    words = [e for e in _in_order(events) if e.verb == "settle" and not e.was_refused]
    pairs = [(e.payload.get("event"), e.payload.get("over"), e.payload.get("keep")) for e in words]
    return {frozenset((int(a), int(b))): int(keep) for a, b, keep in pairs if a and b and keep}


def _corrected(event: Event, right: Event | None) -> Event:
    """The event with the owner's hours and crew in place of its own."""
    if right is None:
        return event
    given = {name: right.payload[name] for name in ("hours", "crew") if right.payload.get(name) is not None}
    return replace(event, payload={**event.payload, **given, "crew_is_right": "crew" in given})


def _disagrees(state: TaskState, event: Event) -> str:
    if state.state != "done":
        return ""
    if event.verb in ("stop", "half a day left"):
        return "somebody else had ticked it before"
    if event.verb == "start" and state.finished_at is not None and event.at > state.finished_at:
        return "it was started again after its tick"
    given, before = _hours(event, "hours"), state.rounds[-1].hours
    if event.verb == "tick" and given is not None and before is not None and given != before:
        return "it was ticked twice, with different hours"
    return ""


def _start(state: TaskState, event: Event) -> TaskState:
    if state.state == "done":
        return state
    return replace(
        state,
        state="under way",
        started_at=state.started_at or event.at,
        stop_reason="",
        crew=_joined(state, event),
    )


def _tick(state: TaskState, event: Event) -> TaskState:
    if state.state == "done":
        return _ticked_again(state, event)
    crew = _joined(state, event)
    return replace(
        state,
        state="done",
        started_at=state.started_at or event.at,
        finished_at=event.at,
        hours_left=None,
        rounds=(*state.rounds, Round(event.id, event.at, _hours(event, "hours"), crew)),
        stop_reason="",
        crew=crew,
    )


def _ticked_again(state: TaskState, event: Event) -> TaskState:
    crew, last = _joined(state, event), state.rounds[-1]
    hours = _hours(event, "hours") if last.hours is None else last.hours
    return replace(state, crew=crew, rounds=(*state.rounds[:-1], replace(last, hours=hours, crew=crew)))


def _without_its_tick(state: TaskState) -> TaskState:
    """As if the last tick had not been: under way since it was started."""
    return replace(state, state="under way", finished_at=None, rounds=state.rounds[:-1])


def _half_a_day_left(state: TaskState, event: Event) -> TaskState:
    if state.state == "done":
        return state
    return replace(_start(state, event), hours_left=_hours(event, "hours_left"))


def _sheet_cut(state: TaskState, event: Event) -> TaskState:
    """Hours of the sheets add up until all is cut; the owner's correction of the last is of them all."""
    if state.state == "done":
        return replace(state, crew=_joined(state, event))
    own = _hours(event, "hours") or Decimal(0)
    hours = own if "crew_is_right" in event.payload else own + state.hours_of_sheets
    if event.payload.get("all_cut"):
        done = replace(event, payload={**event.payload, "hours": str(hours)})
        return replace(_tick(state, done), hours_of_sheets=Decimal(0))
    left = _hours(event, "hours_left")
    return replace(_start(state, event), hours_left=left, hours_of_sheets=hours)


def _stop(state: TaskState, event: Event) -> TaskState:
    if state.state == "done":
        return state
    return replace(state, state="stopped", stop_reason=str(event.payload.get("reason") or "no reason given"))


def _go_on(state: TaskState, event: Event) -> TaskState:
    return _start(state, event) if state.state == "stopped" else state


def _fail(state: TaskState, event: Event) -> TaskState:
    return replace(
        state,
        state="stopped",
        started_at=state.started_at or event.at,
        finished_at=None,
        hours_left=_hours(event, "hours_left"),
        stop_reason=RECHECK,
        crew=_joined(state, event),
    )


def _reopen(state: TaskState, event: Event) -> TaskState:
    if state.state != "done":
        return state
    return replace(state, state="to do", finished_at=None, hours_left=_hours(event, "hours_left"), crew=())


_CHANGES: dict[str, Callable[[TaskState, Event], TaskState]] = {
    "start": _start,
    "tick": _tick,
    "half a day left": _half_a_day_left,
    "sheet cut": _sheet_cut,
    "stop": _stop,
    "go on": _go_on,
    "pass": _tick,
    "overrule": _tick,
    "fail": _fail,
    "check again": _reopen,
    "bulk tick": _tick,
    "reopen": _reopen,
}


def _joined(state: TaskState, event: Event) -> tuple[int, ...]:
    """The crew with those of the event added: its lead stays first. A corrected crew is all there was."""
    named = [int(p) for p in event.payload.get("crew") or ()]
    if event.payload.get("crew_is_right"):
        return tuple(named)
    if event.person is not None and event.person not in named:
        named.append(event.person)
    return tuple(dict.fromkeys([*state.crew, *named]))


def _hours(event: Event, name: str) -> Decimal | None:
    value = event.payload.get(name)
    return None if value is None or value == "" else Decimal(str(value))


def last_word(words: Iterable[Event], finished_at: datetime | None) -> datetime | None:
    """When a coat is dry by the fitters' last word on one link, or None where the figure holds.

    Only words spoken since the work before was finished count: a new coat dries anew. The payload's
    `dry_at` is an ISO instant.
    """
    if finished_at is None:
        return None
    kept = [e for e in words if not e.was_refused]
    undone = {e.undoes for e in kept if e.undoes is not None}
    spoken = [
        e for e in kept if e.verb in ("dry", "not yet dry") and e.id not in undone and e.at >= finished_at
    ]
    if not spoken:
        return None
    return datetime.fromisoformat(str(max(spoken, key=lambda e: (e.at, e.id)).payload["dry_at"]))
