"""The PIN that signs a check, and the lock-out that slows guessing without shutting a colleague out.

Wrong tries are counted for one person on one tablet only: whoever tries there for fun does not lock
the person out on any other tablet. After five wrong tries that tablet waits a minute, longer with every
further one, never more than five minutes; tries while it waits are not counted. A PIN set anew by
the owner opens it at once.
"""

from __future__ import annotations

import math
from datetime import datetime, timedelta

from builds.actions.door import Refused, note_in_journal, write
from builds.actions.floor_events import By
from builds.models import FloorEvent, Person, Tablet, User

FREE_TRIES = 5
REMEMBERED = timedelta(minutes=30)
FIRST_WAIT_SECONDS = 60
LONGEST_WAIT_SECONDS = 300


def set_pin(*, person: Person, pin: str, now: datetime, by: User) -> None:
    """Gives a person a PIN of four to eight digits."""
    pin = pin.strip()
    if not (pin.isascii() and pin.isdecimal() and 4 <= len(pin) <= 8):
        raise Refused("A PIN is four to eight digits.", field="pin")
    if len(set(pin)) == 1 or pin in "0123456789876543210":
        raise Refused("That PIN is guessed first. Choose another.", field="pin")
    _store(person, now, by, pin)


def clear_pin(*, person: Person, now: datetime, by: User) -> None:
    """Takes a person's PIN away; nothing can be signed with it from now on."""
    _store(person, now, by, "")


def _store(person: Person, now: datetime, by: User, pin: str) -> None:
    with write(plan=False):
        fresh = Person.objects.select_for_update().get(pk=person.pk)
        if pin:
            fresh.set_pin(pin)
        else:
            fresh.pin_hash = ""
        fresh.pin_changed_at = now
        fresh.save(update_fields=["pin_hash", "pin_changed_at"])
        words = f"Set a PIN for {fresh.name}" if pin else f"Cleared the PIN of {fresh.name}"
        note_in_journal(words, now=now, by=by)


def check_pin(*, by: By, pin: str, now: datetime) -> None:
    """Refuses unless `pin` is the person's; a wrong one is kept and counts. Opens its own write."""
    person = Person.objects.filter(pk=by.person.pk if by.person else None).first()
    if person is None or person.left_on is not None:
        raise Refused("Only somebody who works here can sign.", field="pin")
    if not person.pin_hash:
        raise Refused(f"{person.name} has no PIN yet. The owner sets one.", field="pin")
    seconds = wait_seconds(person, by.tablet, now)
    if seconds:
        words = f"{math.ceil(seconds / 60)} min" if seconds > 60 else f"{seconds} s"
        raise Refused(f"Too many wrong PINs on this tablet. Try again in {words}.", field="pin")
    if person.pin_is(pin.strip()):
        return
    with write(plan=False):
        FloorEvent.objects.create(
            person=person,
            tablet=by.tablet,
            verb="wrong pin",
            happened_at=now,
            received_at=now,
            outcome="refused",
            answer="Wrong PIN",
        )
    raise Refused("That is not the PIN.", field="pin")


def wait_seconds(person: Person, tablet: Tablet | None, now: datetime) -> int:
    """How long this tablet still waits before it takes this person's PIN again; 0: not at all."""
    since = max(filter(None, [now - REMEMBERED, person.pin_changed_at, _last_signed(person, tablet)]))
    wrong = FloorEvent.objects.filter(person=person, tablet=tablet, verb="wrong pin", received_at__gt=since)
    times = list(wrong.order_by("received_at").values_list("received_at", flat=True))
    if len(times) < FREE_TRIES:
        return 0
    step = len(times) - FREE_TRIES + 1
    until = times[-1] + timedelta(seconds=min(FIRST_WAIT_SECONDS * step, LONGEST_WAIT_SECONDS))
    return max(0, math.ceil((until - now).total_seconds()))


def _last_signed(person: Person, tablet: Tablet | None) -> datetime | None:
    rows = FloorEvent.objects.filter(person=person, tablet=tablet, verb__in=("pass", "fail"))
    return rows.exclude(outcome="refused").order_by("-pk").values_list("received_at", flat=True).first()
