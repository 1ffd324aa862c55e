"""When the shop is open: its hours, its holidays, its weeks. The one place where weeks are counted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import cached_property, lru_cache
from zoneinfo import ZoneInfo

import holidays

from builds.engines.planning.problem import Opening, Spans
from builds.models import ClosedDay, OpeningSpan, Shop


def monday_of(day: date) -> date:
    return day - timedelta(days=day.weekday())


def minute(at: datetime) -> int:
    """The planner's instant: whole minutes since 1970-01-01 00:00 UTC."""
    return int(at.timestamp() // 60)


def instant(minutes: int) -> datetime:
    return datetime.fromtimestamp(minutes * 60, tz=UTC)


def span_minutes(spans: Iterable[tuple[time, time]]) -> Spans:
    return tuple((a.hour * 60 + a.minute, b.hour * 60 + b.minute) for a, b in spans)


@lru_cache(maxsize=64)
def public_holidays(country: str, subdivision: str, year: int) -> dict[date, str]:
    """Public holidays of one year by the `holidays` library; unknown places have none."""
    try:
        return dict(holidays.country_holidays(country, subdiv=subdivision or None, years=year))
    except NotImplementedError:
        return {}


@dataclass(frozen=True)
class OpeningTimes:
    """The shop's opening times as read at one moment."""

    zone: ZoneInfo
    week: dict[int, Spans]
    country: str
    subdivision: str
    own_closed: dict[date, str]
    worked_anyway: frozenset[date]

    def why_closed(self, day: date) -> str | None:
        """The reason the shop is shut on `day`, "" for a weekday it never opens, None when open."""
        if day in self.own_closed:
            return self.own_closed[day] or "closed"
        if not self.week.get(day.weekday()):
            return ""
        if day in self.worked_anyway:
            return None
        return public_holidays(self.country, self.subdivision, day.year).get(day)

    def is_open(self, day: date) -> bool:
        return self.why_closed(day) is None

    def minutes_open(self, day: date) -> int:
        return sum(b - a for a, b in self.week[day.weekday()]) if self.is_open(day) else 0

    def open_days(self, monday: date) -> int:
        return sum(self.is_open(monday + timedelta(days=n)) for n in range(7))

    def open_weeks(self, first: date, last: date) -> list[date]:
        """Mondays of the weeks with at least one open day, from the week of `first` to that of `last`."""
        found, monday = [], monday_of(first)
        while monday <= monday_of(last):
            if self.open_days(monday):
                found.append(monday)
            monday += timedelta(days=7)
        return found

    def week_number(self, arrival: date, day: date) -> int:
        """Which open shop week of a stay `day` is in; 1 is the week of arrival, closed weeks don't count."""
        return len(self.open_weeks(arrival, day))

    def start_of(self, day: date) -> datetime:
        return datetime.combine(day, time(), tzinfo=self.zone)

    def day_of(self, at: datetime) -> date:
        return at.astimezone(self.zone).date()

    def open_day_before(self, day: date) -> date:
        """The last open day before `day`; the day itself in a shop that was shut for a year."""
        before = (day - timedelta(days=n) for n in range(1, 366))
        return next((found for found in before if self.is_open(found)), day)

    def open_day_until(self, day: date) -> date:
        """`day` if the shop is open then, else the last open day before it."""
        return day if self.is_open(day) else self.open_day_before(day)

    @cached_property
    def shortest_day_minutes(self) -> int:
        return min((sum(b - a for a, b in spans) for spans in self.week.values() if spans), default=0)

    def for_planner(self, first: date, last: date) -> Opening:
        """The planner's calendar; closed days are listed from `first` to `last`."""
        days = (first + timedelta(days=n) for n in range((last - first).days + 1))
        closed = frozenset(d for d in days if self.why_closed(d))
        return Opening(week=self.week, closed=closed, zone=str(self.zone))


def opening_times(shop: Shop | None = None) -> OpeningTimes:
    """Reads the shop's opening times: three queries, two when `shop` is given."""
    shop = shop or Shop.objects.get_or_create(pk=1)[0]
    week: dict[int, list[tuple[time, time]]] = {}
    for weekday, opens, closes in OpeningSpan.objects.values_list("weekday", "opens", "closes"):
        week.setdefault(weekday, []).append((opens, closes))
    days = list(ClosedDay.objects.values_list("date", "reason", "works_anyway"))
    return OpeningTimes(
        zone=ZoneInfo(shop.zone),
        week={day: span_minutes(sorted(spans)) for day, spans in week.items()},
        country=shop.country,
        subdivision=shop.subdivision,
        own_closed={day: reason for day, reason, anyway in days if not anyway},
        worked_anyway=frozenset(day for day, _, anyway in days if anyway),
    )
