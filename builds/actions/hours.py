"""The owner's correction of hours: an event about the tick; the tick itself stays as it was given."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from builds.actions.door import Gone, Refused, Stale, note_in_journal, write
from builds.actions.floor_events import (
    Answer,
    By,
    answered_before,
    events_of,
    fresh_task,
    hours_from,
    record,
)
from builds.engines.floor.projection import project
from builds.models import FloorEvent, Person, User

MOST_CREW = 8


def correct_hours(
    *,
    tick: FloorEvent,
    hours,
    crew: Iterable[int],
    why: str = "",
    seen: int | None = None,
    user: User,
    now: datetime,
    uuid=None,
) -> Answer:
    """Puts the hours of one tick right, and who was on it; `hours` are working hours for each of `crew`.

    The last correction counts. Refuses people that are not known, nobody at all, and, with `seen` (the
    last correction that the form was made from, 0 for none), one that somebody else made meanwhile.
    """
    by = By(user=user, uuid=uuid)
    with write():
        if known := answered_before(by):
            return known
        event = FloorEvent.objects.select_related("task").filter(pk=tick.pk).first()
        if event is None or event.task is None:
            raise Gone("That tick is not there any more.")
        task = fresh_task(event.task)
        if event.pk not in {r.tick for r in project(events_of(task)).rounds}:
            raise Refused(
                f"This tick of “{task.name}” does not count any more, so there is nothing to correct."
            )
        if seen is not None and seen != last_correction(event):
            raise Stale("These hours were corrected in the meantime. Look at them as they are now.")
        right = hours_from(hours, field="hours")
        people = _crew(crew)
        why = why.replace("\x00", "").strip()[:200]
        payload = {"of": event.pk, "hours": str(right), "crew": [p.pk for p in people], "reason": why}
        words = f"{right.normalize():f} h for {', '.join(p.name for p in people)}"
        answer = record("hours", words, by=by, now=now, task=task, payload=payload, about=event)
        note_in_journal(f"Hours of “{task.name}” are {words}", now=now, by=user, build=task.build)
        return answer


def last_correction(tick: FloorEvent) -> int:
    """The number of the last correction of a tick; 0 for none."""
    rows = FloorEvent.objects.filter(about=tick, verb="hours").order_by("-pk")
    return rows.values_list("pk", flat=True).first() or 0


def _crew(numbers: Iterable[int]) -> list[Person]:
    wanted = list(dict.fromkeys(numbers))
    if not wanted:
        raise Refused("Say who was on it.", field="crew")
    known = Person.objects.in_bulk(wanted)
    if len(known) < len(wanted):
        raise Refused("Somebody of this crew is not known here.", field="crew")
    if len(wanted) > MOST_CREW:
        raise Refused(f"A crew is at most {MOST_CREW} people.", field="crew")
    return [known[number] for number in wanted]
