"""A row of the floor's history as the engine takes it."""

from __future__ import annotations

from builds.engines.floor.projection import Event
from builds.models import FloorEvent


def as_event(row: FloorEvent) -> Event:
    return Event(
        id=row.pk,
        verb=row.verb,
        at=row.happened_at,
        person=row.person_id,
        payload=row.payload,
        undoes=row.undoes_id,
        was_refused=row.outcome == "refused",
    )
