"""The places where work happens, and how much each holds."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from builds.actions.checked import check_edition, free_key, fresh, next_order, put_fields
from builds.actions.door import Refused, note_in_journal, write
from builds.models import Place, User

PLACE_FIELDS = ("name", "room", "counts", "per_van", "holds_bay", "van_position", "caution")
MOST_ROOM = 99


def add_place(
    *, name: str, key: str = "", fields: Mapping[str, object] | None = None, now: datetime, by: User | None
) -> Place:
    """Adds a place; `fields` as in PLACE_FIELDS. `room` None is no limit."""
    with write():
        place = Place(order=next_order(Place))
        put_fields(place, {"key": key or free_key(Place, name)}, ("key",))
        if Place.objects.filter(key=place.key).exists():
            raise Refused("There is a place of that name.", field="name")
        _put_place(place, {"name": name, **(fields or {})})
        note_in_journal(f"Added the place {place.name}", now=now, by=by)
    return place


def change_place(
    *, place: Place, fields: Mapping[str, object], now: datetime, by: User | None, seen: str | None = None
) -> Place:
    """Changes a place's fields by name (see PLACE_FIELDS). The plan is made anew."""
    with write():
        row = fresh(Place, place)
        check_edition(row.name, seen, row)
        _put_place(row, fields)
        room = "no limit" if row.room is None else f"holds {row.room}"
        note_in_journal(f"Changed the place {row.name}: {room}", now=now, by=by)
    return row


def _put_place(place: Place, fields: Mapping[str, object]) -> None:
    put_fields(place, fields, PLACE_FIELDS)
    if not place.name:
        raise Refused("A place needs a name.", field="name")
    if place.room is not None and not 1 <= place.room <= MOST_ROOM:
        raise Refused(
            f"A place holds between 1 and {MOST_ROOM}; leave it empty where there is no limit.", field="room"
        )
    if Place.objects.filter(name__iexact=place.name).exclude(pk=place.pk).exists():
        raise Refused("There is a place of that name.", field="name")
    place.save()
