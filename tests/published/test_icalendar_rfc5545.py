"""Calendars against RFC 5545 (Internet Calendaring and Scheduling Core Object Specification, 2009).

The sections are named beside each check; the icalendar library is the parser. The examples are from
memory of sections 3.3.4, 3.3.5, 3.3.11 and 3.6.1. Exact, no tolerance.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from icalendar import Calendar

from builds.exchange.calendars import as_icalendar
from builds.queries.calendars import CalendarEntry

NOW = datetime(2027, 3, 1, 8, tzinfo=UTC)


def text_of(*entries: CalendarEntry) -> str:
    return as_icalendar("Work", entries, now=NOW, host="vans.example").decode()


def entry(**more) -> CalendarEntry:
    fields = {"uid": "task-1", "start": NOW, "end": NOW.replace(hour=9), "summary": "Heron: Glue up"}
    return CalendarEntry(**(fields | more))


def test_the_date_of_the_specification_is_written_as_there():
    """Section 3.3.4: July 14, 1997 is 19970714; 3.6.1: DTEND of a date is not included."""
    text = text_of(entry(start=date(1997, 7, 14), end=date(1997, 7, 15)))

    assert "DTSTART;VALUE=DATE:19970714\r\n" in text
    assert "DTEND;VALUE=DATE:19970715\r\n" in text


def test_the_instant_of_the_specification_is_written_as_there():
    """Section 3.3.5: 1:30 PM on July 14, 1997 in New York is 19970714T173000Z in UTC."""
    text = text_of(
        entry(
            start=datetime(1997, 7, 14, 13, 30, tzinfo=ZoneInfo("America/New_York")),
            end=datetime(1997, 7, 14, 14, 30, tzinfo=ZoneInfo("America/New_York")),
        )
    )

    assert "DTSTART:19970714T173000Z\r\n" in text


def test_the_example_of_section_3_3_11_is_escaped_as_there():
    """A project named Project XYZ Final Review, on three lines, commas behind a backslash."""
    words = "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    text = text_of(entry(words=words, summary="One, two; three \\ four"))

    unfolded = text.replace("\r\n ", "")
    assert "DESCRIPTION:Project XYZ Final Review\\nConference Room - 3B\\nCome Prepared.\r\n" in unfolded
    assert "SUMMARY:One\\, two\\; three \\\\ four\r\n" in unfolded


def test_lines_are_folded_at_75_octets_and_end_in_crlf():
    """Section 3.1, also where characters take more than one octet."""
    text = text_of(entry(summary="Möbelplatte größer schneiden " * 9))

    lines = text.encode().split(b"\r\n")
    assert max(len(line) for line in lines) <= 75
    assert b"\n" not in b"".join(lines)
    assert str(Calendar.from_ical(text).walk("VEVENT")[0]["summary"]) == "Möbelplatte größer schneiden " * 9


def test_what_must_be_there_is_there_once():
    """Section 3.6: PRODID and VERSION; section 3.6.1: UID and DTSTAMP in each event."""
    calendar = Calendar.from_ical(text_of(entry(), entry(uid="task-2")))

    assert str(calendar["version"]) == "2.0"
    assert calendar["prodid"]
    assert [str(e["uid"]) for e in calendar.walk("VEVENT")] == ["task-1@vans.example", "task-2@vans.example"]
    assert all(e["dtstamp"].dt == NOW for e in calendar.walk("VEVENT"))
    assert calendar.errors == []


def test_an_empty_calendar_can_be_read():
    assert Calendar.from_ical(text_of()).walk("VEVENT") == []
