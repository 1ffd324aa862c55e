"""Opening hours on a line of whole minutes, right across closed days, breaks and summer time.

An instant is whole minutes since 1970-01-01 00:00 UTC; where the shop has no time zone it is the
same count over a plain clock reading. Spans are given in local readings and turned into instants
at their two ends, so an hour of work stays sixty minutes on the night the clocks change.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from .problem import Fitter, Opening, Spans

Stretch = tuple[int, int]
"""A stretch of time, (from, to) in instants."""

MINUTES_A_DAY = 1440


def instant(reading: datetime, zone: str | None) -> int:
    """The instant of a local clock reading (naive, in the shop's zone; seconds are dropped)."""
    aware = reading.replace(tzinfo=ZoneInfo(zone) if zone else UTC)
    return int(aware.timestamp()) // 60


def reading(at: int, zone: str | None) -> datetime:
    """The local clock reading (naive) at an instant."""
    when = datetime.fromtimestamp(at * 60, ZoneInfo(zone) if zone else UTC)
    return when.replace(tzinfo=None)


def day_at(at: int, zone: str | None) -> date:
    """The local date at an instant."""
    return reading(at, zone).date()


def midnight(day: date, zone: str | None) -> int:
    """The instant at which a local day begins."""
    return instant(datetime.combine(day, time()), zone)


def monday_of(day: date) -> date:
    """The Monday of the ISO week that holds `day`."""
    return day - timedelta(days=day.weekday())


def week_text(day: date) -> str:
    """The ISO 8601 week date of a day, such as "2026-W53-1"."""
    year, week, weekday = day.isocalendar()
    return f"{year}-W{week:02d}-{weekday}"


def week_bounds(monday: date, zone: str | None) -> Stretch:
    """The instants at which the week of `monday` begins and ends."""
    return midnight(monday, zone), midnight(monday + timedelta(days=7), zone)


def open_stretches(opening: Opening, day: date) -> tuple[Stretch, ...]:
    """When the shop is open on a local day, as instants; empty on a closed day."""
    if day in opening.closed:
        return ()
    return _on(opening.week.get(day.weekday(), ()), day, opening.zone)


def work_stretches(opening: Opening, fitter: Fitter, day: date) -> tuple[Stretch, ...]:
    """When a fitter works on a local day: the shop's spans or their own, absences not yet taken off.

    A fitter's own hours hold on their weekday even where the shop's differ; a closed day closes for
    all. A visitor's booked dates stand alone up to the last of them.
    """
    if day in opening.closed or not works_on(fitter, day):
        return ()
    own: Spans | None = fitter.hours.get(day.weekday()) if fitter.hours else None
    return _on(own if own is not None else opening.week.get(day.weekday(), ()), day, opening.zone)


def works_on(fitter: Fitter, day: date) -> bool:
    """Whether a date is one of the fitter's, absences and closed days left aside."""
    if fitter.booked and day <= max(fitter.booked):
        return day in fitter.booked
    return fitter.days is None or day.weekday() in fitter.days


def open_minutes(opening: Opening, since: int, until: int) -> int:
    """Minutes that the shop is open between two instants; 0 when `until` is not later."""
    if until <= since:
        return 0
    return sum(
        max(0, min(b, until) - max(a, since))
        for day in _days(day_at(since, opening.zone), day_at(until, opening.zone))
        for a, b in open_stretches(opening, day)
    )


def minutes_a_day(opening: Opening) -> float:
    """How long the shop is open on an opening day, on average over its week."""
    lengths = [sum(b - a for a, b in spans) for spans in opening.week.values() if spans]
    return sum(lengths) / len(lengths) if lengths else 0.0


def _days(first: date, last: date) -> Iterator[date]:
    for ahead in range((last - first).days + 1):
        yield first + timedelta(days=ahead)


def _on(spans: Spans, day: date, zone: str | None) -> tuple[Stretch, ...]:
    if not spans:
        return ()
    if zone is None:
        start = (day.toordinal() - _EPOCH) * MINUTES_A_DAY
        return tuple((start + a, start + b) for a, b in spans)
    opens = datetime.combine(day, time())
    return tuple(
        (instant(opens + timedelta(minutes=a), zone), instant(opens + timedelta(minutes=b), zone))
        for a, b in spans
    )


_EPOCH = date(1970, 1, 1).toordinal()
