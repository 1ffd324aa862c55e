"""Private links to calendars: made, shown once, withdrawn for good."""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta

from builds.actions.door import Refused, note_in_journal, write
from builds.models import CalendarLink, Person, User
from builds.queries.tablets import hash_of


def make_calendar_link(*, person: Person | None, now: datetime, by: User) -> tuple[CalendarLink, str]:
    """Makes a link to a person's calendar, or to the shop's dates, and gives it with its token.

    The token is kept nowhere and can't be shown again. Refused for somebody who has left.
    """
    token = secrets.token_urlsafe(32)
    with write(plan=False):
        if person is not None and not Person.objects.working().filter(pk=person.pk).exists():
            raise Refused(f"{person.name} does not work here any more.")
        link = CalendarLink.objects.create(person=person, token_hash=hash_of(token), made_at=now)
        whose = person.name if person else "the shop"
        note_in_journal(f"Made a private link to the calendar of {whose}", now=now, by=by)
    return link, token


def withdraw_calendar_link(*, link: CalendarLink, now: datetime, by: User) -> None:
    """Closes the link at once; a second withdrawal changes nothing."""
    with write(plan=False):
        fresh = CalendarLink.objects.select_related("person").get(pk=link.pk)
        if fresh.withdrawn_at is None:
            fresh.withdrawn_at = now
            fresh.save(update_fields=["withdrawn_at"])
            note_in_journal(f"Withdrew a private link to the {fresh}", now=now, by=by)


def note_fetched(*, link: CalendarLink, now: datetime) -> None:
    """Remembers that the calendar was fetched, once an hour at most."""
    if link.last_opened_at and now - link.last_opened_at < timedelta(hours=1):
        return
    with write(plan=False):
        CalendarLink.objects.filter(pk=link.pk).update(last_opened_at=now)
