"""The shop itself: its settings, when it is open, the days it is closed or open after all."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, time, timedelta
from zoneinfo import available_timezones

from holidays import list_supported_countries

from builds.actions.checked import Span, check_day, check_edition, check_spans, day_year, put_fields
from builds.actions.door import Refused, note_in_journal, write
from builds.models import ClosedDay, OpeningSpan, Shop, User
from builds.models.shop import WEEKDAYS
from builds.queries.opening import public_holidays

SETTINGS = (
    "name",
    "zone",
    "country",
    "subdivision",
    "plannable_share",
    "move_minutes",
    "warmth",
    "currency",
    "vat_percent",
    "vat_level",
    "order_margin_days",
    "offcut_least_length_mm",
    "offcut_least_width_mm",
    "offcut_least_run_mm",
)
MOST_DAYS_AT_ONCE = 92


def change_shop(
    fields: Mapping[str, object], *, now: datetime, by: User | None, seen: str | None = None
) -> Shop:
    """Changes the settings given, by name (see SETTINGS); the others stay.

    `seen` is `edition(settings)` of the page the change was made on. Refused where a value can't be,
    with the field's name. The plan is made anew.
    """
    with write() as shop:
        check_edition("The shop's settings", seen, settings_of(shop))
        changed = put_fields(shop, fields, SETTINGS)
        _check_settings(shop)
        shop.save(update_fields=list(fields))
        if changed:
            note_in_journal(f"Changed the shop: {', '.join(changed)}", now=now, by=by)
    return shop


def settings_of(shop: Shop) -> Shop:
    """The settings alone, without what changes with every tick: what `seen` is made of."""
    return Shop(pk=shop.pk, **{name: getattr(shop, name) for name in SETTINGS})


def _check_settings(shop: Shop) -> None:
    if not shop.name:
        raise Refused("The shop needs a name.", field="name")
    if shop.zone not in available_timezones():
        raise Refused("There is no such time zone. An example: Europe/London.", field="zone")
    if not (len(shop.currency) == 3 and shop.currency.isascii() and shop.currency.isupper()):
        raise Refused("A currency is three capital letters, such as GBP.", field="currency")
    countries = list_supported_countries(include_aliases=False)
    if shop.country not in countries:
        raise Refused("No public holidays are known for that country.", field="country")
    if shop.subdivision and shop.subdivision not in countries[shop.country]:
        raise Refused("That country has no such part.", field="subdivision")


def set_opening(
    *,
    spans: Mapping[int, Iterable[Span]],
    now: datetime,
    by: User | None,
    seen: str | None = None,
) -> None:
    """Sets the whole week's opening: weekday (0 is Monday) to (opens, closes); gaps are breaks.

    Times are on quarters of an hour. A weekday left out is closed. At least one must be open.
    """
    week = check_spans(spans, dict(WEEKDAYS))
    if not week:
        raise Refused(
            "A shop that never opens can't plan anything. Give at least one weekday.", field="day-0"
        )
    with write():
        check_edition("The opening hours", seen, *OpeningSpan.objects.all())
        _replace_opening(week)
        note_in_journal(f"Set the opening hours: {_in_words(week)}", now=now, by=by)


def _replace_opening(week: dict[int, list[Span]]) -> None:
    OpeningSpan.objects.all().delete()
    OpeningSpan.objects.bulk_create(
        OpeningSpan(weekday=day, opens=opens, closes=closes)
        for day, rows in sorted(week.items())
        for opens, closes in rows
    )


def _in_words(week: dict[int, list[Span]]) -> str:
    names = dict(WEEKDAYS)
    return "; ".join(f"{names[day][:3]} {spans_in_words(rows)}" for day, rows in sorted(week.items()))


def spans_in_words(rows: Iterable[tuple[time, time]]) -> str:
    """Spans of one day in words: "08:00 to 12:30, 13:00 to 17:00"."""
    return ", ".join(f"{a:%H:%M} to {b:%H:%M}" for a, b in rows)


def close_day(
    *, date: date, reason: str = "", until: date | None = None, now: datetime, by: User | None
) -> list[ClosedDay]:
    """Closes the shop on a day, or each day from `date` until `until`. Closing a closed day again only
    changes its reason."""
    last = until or date
    _check_stretch(date, last)
    with write():
        days = [date + timedelta(days=n) for n in range((last - date).days + 1)]
        rows = [_close_one(day, reason) for day in days]
        words = f"Closed {_stretch(date, last)}" + (f" ({reason.strip()})" if reason.strip() else "")
        note_in_journal(words, now=now, by=by)
    return rows


def _check_stretch(first: date, last: date) -> None:
    check_day(first, "date")
    check_day(last, "until")
    if last < first:
        raise Refused("The last closed day is before the first.", field="until")
    if (last - first).days >= MOST_DAYS_AT_ONCE:
        raise Refused("That is more than three months at once. Look at the dates again.", field="until")


def _close_one(day: date, reason: str) -> ClosedDay:
    row = ClosedDay.objects.filter(date=day).first() or ClosedDay(date=day)
    row.works_anyway = False
    put_fields(row, {"reason": reason}, ("reason",))
    row.save()
    return row


def _stretch(first: date, last: date) -> str:
    return f"{day_year(first)}" + ("" if first == last else f" to {day_year(last)}")


def open_again(*, date: date, until: date | None = None, now: datetime, by: User | None) -> None:
    """Takes back closed days, or a holiday that was to be worked; taking back twice changes nothing."""
    last = until or date
    _check_stretch(date, last)
    with write():
        removed, _ = ClosedDay.objects.filter(date__gte=date, date__lte=last).delete()
        if removed:
            note_in_journal(f"Took back what was said of {_stretch(date, last)}", now=now, by=by)


def work_holiday(*, date: date, now: datetime, by: User | None) -> ClosedDay:
    """Says that the shop works on a public holiday after all."""
    check_day(date, "date")
    with write() as shop:
        name = public_holidays(shop.country, shop.subdivision, date.year).get(date)
        if name is None:
            raise Refused("That day is no public holiday here.", field="date")
        row, _ = ClosedDay.objects.update_or_create(
            date=date, defaults={"works_anyway": True, "reason": name[:80]}
        )
        note_in_journal(f"Works on {name}, {day_year(date)}", now=now, by=by)
    return row
