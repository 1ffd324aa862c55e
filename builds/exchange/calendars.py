"""Calendars in the iCalendar format (RFC 5545), for the calendar programs of phones and offices."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

from icalendar import Calendar, Event

from builds.queries.calendars import CalendarEntry

FETCH_AGAIN = timedelta(hours=1)


def as_icalendar(name: str, entries: Iterable[CalendarEntry], *, now: datetime, host: str) -> bytes:
    """Gives one calendar as UTF-8 text with CRLF lines folded at 75 octets.

    Instants are written in UTC (RFC 5545 section 3.3.5, form 2), so that no reader needs a rule for
    summer time; whole days are dates, which have no zone. `host` makes the UIDs ours (section 3.8.4.7).
    """
    calendar = Calendar()
    calendar.add("prodid", "-//Benchweek//Plan of a workshop//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("name", name)
    calendar.add("x-wr-calname", name)
    calendar.add("refresh-interval", FETCH_AGAIN, parameters={"VALUE": "DURATION"})
    for entry in entries:
        calendar.add_component(_event(entry, now, host))
    return calendar.to_ical()


def _event(entry: CalendarEntry, now: datetime, host: str) -> Event:
    event = Event()
    event.add("uid", f"{entry.uid}@{host}")
    event.add("dtstamp", now.astimezone(UTC))
    event.add("dtstart", _in_utc(entry.start))
    event.add("dtend", _in_utc(entry.end))
    event.add("summary", entry.summary)
    if entry.place:
        event.add("location", entry.place)
    if entry.words:
        event.add("description", entry.words)
    if not isinstance(entry.start, datetime):
        # A delivery or a handover is to be known of, but it keeps nobody from other work.
        event.add("transp", "TRANSPARENT")
    return event


def _in_utc(at):
    return at.astimezone(UTC) if isinstance(at, datetime) else at
