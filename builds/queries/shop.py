"""The shop's calendar as a page shows it: own closed days, and the public holidays to come."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from builds.models import ClosedDay, Shop
from builds.queries.opening import opening_times, public_holidays

AHEAD_DAYS = 550
BACK_DAYS = 31


@dataclass(frozen=True)
class Closure:
    """One own closed day, or several in a row with the same reason."""

    first: date
    last: date
    reason: str
    days: int
    past: bool


@dataclass(frozen=True)
class Holiday:
    """A public holiday to come. `worked`: open after all. `matters`: the shop opens on that weekday."""

    date: date
    name: str
    worked: bool
    matters: bool


@dataclass(frozen=True)
class ShopDays:
    closures: tuple[Closure, ...]
    holidays: tuple[Holiday, ...]


def shop_days(today: date) -> ShopDays:
    """Own closed days from a month ago, holidays of the next year and a half; three queries."""
    shop = Shop.objects.filter(pk=1).first() or Shop(pk=1)
    times = opening_times(shop)
    last = today + timedelta(days=AHEAD_DAYS)
    named = {
        day: name
        for year in range(today.year, last.year + 1)
        for day, name in public_holidays(shop.country, shop.subdivision, year).items()
        if today <= day <= last
    }
    return ShopDays(
        closures=_closures(today),
        holidays=tuple(
            Holiday(day, name, day in times.worked_anyway, bool(times.week.get(day.weekday())))
            for day, name in sorted(named.items())
        ),
    )


def _closures(today: date) -> tuple[Closure, ...]:
    rows = ClosedDay.objects.filter(works_anyway=False, date__gte=today - timedelta(days=BACK_DAYS))
    found: list[Closure] = []
    for day, reason in rows.values_list("date", "reason"):
        before = found[-1] if found else None
        if before and before.reason == reason and day == before.last + timedelta(days=1):
            found[-1] = Closure(before.first, day, reason, before.days + 1, day < today)
        else:
            found.append(Closure(day, day, reason, 1, day < today))
    return tuple(found)
