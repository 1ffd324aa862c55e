"""Keeps what happened on the floor: one row an event, only ever added, task state worked out with it.

Every action of the floor goes the same way: an event whose uuid is known gets its first answer again;
else the rules are asked, the row is written and the task's state is projected anew, all in one
transaction. An action that is refused writes nothing, unless it comes late out of a tablet's queue: then
the refusal is kept too, so that the tablet gets the same answer however often it asks.
"""

from __future__ import annotations

import uuid as uuids
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal, InvalidOperation

from builds.actions.door import Gone, Refused, write
from builds.engines.floor.projection import CHANGES_STATE, Event, crossings, last_word, project
from builds.models import Build, FloorEvent, Link, Person, Tablet, Task, User
from builds.queries.events import as_event

OLDEST = timedelta(days=60)
FINISHES = ("tick", "half a day left", "pass")
STATE_FIELDS = (
    "state",
    "started_at",
    "finished_at",
    "hours_left",
    "hours_taken",
    "stop_reason",
    "crew_on_it",
)


@dataclass(frozen=True)
class By:
    """Who did it, on which tablet, and by which clock.

    `device_at` is given for what waited in a tablet's queue; `offset_ms` is then how far the tablet's
    clock was behind ours when it sent it.
    """

    person: Person | None = None
    user: User | None = None
    tablet: Tablet | None = None
    uuid: uuids.UUID | None = None
    sequence: int | None = None
    device_at: datetime | None = None
    offset_ms: int = 0

    @property
    def is_late(self) -> bool:
        return self.device_at is not None

    @property
    def name(self) -> str:
        return str(self.person or self.user or "Somebody")


@dataclass(frozen=True)
class Answer:
    """What became of an action. `again` tells that it had been done before, by the same uuid."""

    event: FloorEvent
    words: str
    again: bool = False

    @property
    def outcome(self) -> str:
        return self.event.outcome


class Refusal(Refused):
    """The refusal of an event that was refused before: the same words again."""


def answered_before(by: By) -> Answer | None:
    """The answer that was given to this uuid, or None; raises the refusal if that was the answer."""
    if by.uuid is None:
        return None
    known = FloorEvent.objects.select_related("task").filter(uuid=by.uuid).first()
    if known is None:
        return None
    if known.outcome == "refused":
        raise Refusal(known.answer)
    return Answer(known, known.answer, again=True)


def when(by: By, now: datetime) -> datetime:
    """When it happened by our clock: never in the future, never before what the same tablet did earlier.

    A clock that is months wrong is not believed.
    """
    if by.device_at is None:
        return now
    try:
        at = min(by.device_at + timedelta(milliseconds=by.offset_ms), now)
    except OverflowError:
        return now
    if now - at > OLDEST:
        return now
    if by.tablet is None or by.sequence is None:
        return at
    earlier = FloorEvent.objects.filter(tablet=by.tablet, sequence__lt=by.sequence, device_at__isnull=False)
    last = earlier.order_by("-sequence").values_list("happened_at", flat=True).first()
    return max(at, last) if last else at


def fresh_task(task: Task) -> Task:
    """The task as it is now; Gone when it isn't there. Call inside a write."""
    rows = Task.objects.select_related("build", "trade", "hold_point", "unit", "installation")
    found = rows.filter(pk=task.pk).first()
    if found is None:
        raise Gone("That work is not there any more.")
    if found.build.status == "dropped":
        raise Refused("This build was dropped. Nothing more is done on it.")
    return found


def record(
    verb: str,
    words: str,
    *,
    by: By,
    now: datetime,
    task: Task | None = None,
    build: Build | None = None,
    payload: dict | None = None,
    undoes: FloorEvent | None = None,
    about: FloorEvent | None = None,
    outcome: str = "kept",
) -> Answer:
    """Writes the event and, where it bears on a task, the task's new state. Call inside a write."""
    event = FloorEvent.objects.create(
        uuid=by.uuid or uuids.uuid4(),
        tablet=by.tablet,
        sequence=_free_sequence(by),
        person=by.person,
        user=by.user,
        build=build or (task.build if task else None),
        task=task,
        verb=verb,
        payload=payload or {},
        undoes=undoes,
        about=about,
        happened_at=when(by, now),
        device_at=by.device_at,
        offset_ms=max(-(2**31), min(by.offset_ms, 2**31 - 1)),
        received_at=now,
        outcome=outcome,
        answer=words[:300],
    )
    if task is not None and event.outcome != "refused" and (verb in CHANGES_STATE or undoes is not None):
        _project(task, event)
    if task is not None and event.outcome == "kept":
        _flag_overtaken(event, task)
    return Answer(event, event.answer)


def _free_sequence(by: By) -> int | None:
    """The tablet's own number, unless a tablet that was wiped counts from one again."""
    if by.tablet is None or by.sequence is None:
        return None
    taken = FloorEvent.objects.filter(tablet=by.tablet, sequence=by.sequence).exists()
    if not taken and by.sequence > by.tablet.last_sequence:
        Tablet.objects.filter(pk=by.tablet.pk).update(last_sequence=by.sequence)
    return None if taken else by.sequence


def keep_refusal(
    refused: Refused,
    verb: str,
    *,
    by: By,
    now: datetime,
    task: Task | None,
    build: Build | None,
    payload: dict,
) -> Answer:
    """Remembers that a late event was refused, so that it is answered alike ever after."""
    with write(plan=False):
        known = FloorEvent.objects.filter(uuid=by.uuid).first() if by.uuid else None
        if known:
            return Answer(known, known.answer, again=True)
        payload = {**payload, "field": refused.field} if refused.field else payload
        return record(
            verb,
            refused.words,
            by=by,
            now=now,
            task=task,
            build=build,
            payload=payload,
            outcome="refused",
        )


# The projection


def events_of(task: Task) -> list[Event]:
    rows = FloorEvent.objects.filter(task=task, outcome__in=("kept", "to settle"))
    return [as_event(row) for row in rows]


def state_of(task: Task) -> dict:
    """The task's fields of state as its events give them."""
    state = project(events_of(task))
    return {
        "state": state.state,
        "started_at": state.started_at,
        "finished_at": state.finished_at,
        "hours_left": state.hours_left,
        "hours_taken": state.hours_taken,
        "stop_reason": state.stop_reason[:200],
        "crew_on_it": list(state.crew),
    }


def _project(task: Task, event: FloorEvent) -> None:
    for name, value in state_of(task).items():
        setattr(task, name, value)
    task.save(update_fields=STATE_FIELDS)
    for crossing in crossings(events_of(task)):
        if crossing.event == event.pk:
            _to_settle(event, crossing.words, over=crossing.other)
        elif crossing.other == event.pk:
            _to_settle(event, "something else was done to it after this tick", over=crossing.event)
    _project_words(task)


def _flag_overtaken(event: FloorEvent, task: Task) -> None:
    """What was done to work that the owner took out or changed meanwhile is kept and shown."""
    if task.removed_at is not None:
        merged = f"it was merged into “{task.merged_into}”" if task.merged_into else "it was taken out"
        _to_settle(event, f"this work is not in the plan any more: {merged}")
    elif event.device_at is not None and task.build.status != "agreed":
        _to_settle(event, f"{task.build} was {task.build.get_status_display()} in the meantime")
    elif event.verb in FINISHES and task.changed_at and event.happened_at < task.changed_at:
        _to_settle(event, "the owner changed this work in the meantime")
    elif event.person and event.person.left_on and event.happened_at.date() > event.person.left_on:
        _to_settle(event, f"{event.person.name} had left by then")


def _to_settle(event: FloorEvent, words: str, *, over: int | None = None) -> None:
    event.outcome, event.answer = "to settle", f"Kept, but {words}. The owner settles it."[:300]
    event.payload = {**event.payload, "over": over} if over else event.payload
    event.save(update_fields=["outcome", "answer", "payload"])


def _project_words(before: Task) -> None:
    """Works out anew whether the coats of a task are said to be dry: a new coat dries anew."""
    for link in Link.objects.filter(before=before):
        dry_at = dry_word(link, before.finished_at)
        if dry_at != link.dry_at:
            link.dry_at = dry_at
            link.save(update_fields=["dry_at"])


def dry_word(link: Link, finished_at: datetime | None) -> datetime | None:
    rows = FloorEvent.objects.filter(task_id=link.after_id, verb__in=("dry", "not yet dry", "undo"))
    mine = [r for r in rows if r.verb == "undo" or r.payload.get("link") == link.pk]
    return last_word([as_event(row) for row in mine], finished_at)


# Reading what was typed


def hours_from(value, *, field: str, least: str = "0.25", most: str = "200") -> Decimal:
    """Working hours as typed; refuses what is no number or not between `least` and `most`."""
    try:
        hours = Decimal(str(value).strip().replace(",", "."))
    except InvalidOperation:
        raise Refused("Hours have to be a number, like 3 or 2.5.", field=field) from None
    if not hours.is_finite() or not Decimal(least) <= hours <= Decimal(most):
        raise Refused(f"Hours go from {least} to {most}.", field=field)
    return hours.quantize(Decimal("0.01"))


def words_from(text: str, *, field: str, most: int, needed: str) -> str:
    """A text as typed, without NULs and outer blanks; refuses an empty or an overlong one."""
    text = text.replace("\x00", "").strip()
    if not text:
        raise Refused(needed, field=field)
    if len(text) > most:
        raise Refused(f"That is {len(text):,} letters; {most:,} is the most.", field=field)
    return text
