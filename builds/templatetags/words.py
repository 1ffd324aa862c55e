"""Words and figures for templates: dates, times, hours, money, measures, marks of state.

Built into every template. A list of many rows formats its figures in the query and not here.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation

from django import template
from django.template.defaultfilters import stringfilter
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from .marks import SHAPES, TONES

register = template.Library()

NARROW = "\u202f"
MINUS = "\u2212"
QUARTERS = {0: "", 25: "¼", 50: "½", 75: "¾"}
SIGNS = {"GBP": "£", "EUR": "€", "USD": "$"}


# Days and times


def _here(value: date | datetime) -> date | datetime:
    if isinstance(value, datetime) and timezone.is_aware(value):
        return timezone.localtime(value)
    return value


@register.filter
def day(value: date | datetime | None) -> str:
    """Gives "Fri 6 Nov"; nothing for no date."""
    if not value:
        return ""
    value = _here(value)
    return f"{value:%a} {value.day} {value:%b}"


@register.filter
def day_year(value: date | datetime | None) -> str:
    """Gives "Fri 6 Nov 2026"."""
    return f"{day(value)} {_here(value).year}" if value else ""


@register.filter
def clock(value: datetime | None) -> str:
    """Gives "14:30" in the shop's time."""
    return f"{_here(value):%H:%M}" if value else ""


@register.filter
def moment(value: datetime | None) -> str:
    """Gives "Fri 6 Nov, 14:30"."""
    return f"{day(value)}, {clock(value)}" if value else ""


@register.filter
def week_of(value: date | None) -> str:
    """Gives "2 to 8 Nov", or "30 Nov to 6 Dec", for any day of a week."""
    if not value:
        return ""
    value = _here(value)
    monday = value - timedelta(days=value.weekday())
    sunday = monday + timedelta(days=6)
    if monday.month == sunday.month:
        return f"{monday.day} to {sunday.day} {sunday:%b}"
    return f"{monday.day} {monday:%b} to {sunday.day} {sunday:%b}"


@register.filter
def calendar_week(value: date | None) -> str:
    """Gives the ISO 8601 week's number, "45"."""
    return str(_here(value).isocalendar().week) if value else ""


@register.filter
def days_off(value: int | None) -> str:
    """Gives "3 days late", "2 days early" or "on the day"; positive is late."""
    if value is None:
        return ""
    if value == 0:
        return "on the day"
    return f"{count(abs(value), 'day,days')} {'late' if value > 0 else 'early'}"


@register.filter
def wait(minutes: int | None) -> str:
    """Gives clock time in words: "45 min", "16 h", "1½ days", "3 days"."""
    if not minutes:
        return ""
    if minutes < 60:
        return f"{minutes}{NARROW}min"
    if minutes < 36 * 60:
        return hours(Decimal(minutes) / 60)
    half_days = round(minutes / 720)
    return f"{_mixed(Decimal(half_days) / 2)} {'day' if half_days <= 2 else 'days'}"


# Figures


def _decimal(value) -> Decimal | None:
    if value is None or value == "":
        return None
    if isinstance(value, timedelta):
        return Decimal(str(value.total_seconds())) / 3600
    try:
        number = Decimal(str(value))
    except InvalidOperation:
        return None
    return number if number.is_finite() else None


def _signed(number: Decimal, words: str) -> str:
    return f"{MINUS}{words}" if number < 0 else words


def _mixed(number: Decimal) -> str:
    """A number to the quarter where it is one, else to a tenth: 6½, ¾, 6.3."""
    hundredths = int((abs(number) * 100).quantize(Decimal(1), ROUND_HALF_UP))
    whole, rest = divmod(hundredths, 100)
    if rest not in QUARTERS:
        tenth = abs(number).quantize(Decimal("0.1"), ROUND_HALF_UP).normalize()
        return _signed(number, f"{tenth:,f}")
    if not hundredths:
        return "0"
    return _signed(number, f"{whole:,}{QUARTERS[rest]}" if whole else QUARTERS[rest])


def _plain(number: Decimal, places: int) -> str:
    step = Decimal(1).scaleb(-places)
    rounded = abs(number).quantize(step, ROUND_HALF_UP)
    words = f"{rounded:,f}"
    return _signed(number, words) if rounded else words


@register.filter
def hours(value) -> str:
    """Gives "6½ h" for hours as a number, a Decimal or a timedelta."""
    number = _decimal(value)
    return "" if number is None else f"{_mixed(number)}{NARROW}h"


@register.filter
def minutes_as_hours(value) -> str:
    """Gives "2¼ h" for 135 minutes of work."""
    number = _decimal(value)
    return "" if number is None else hours(number / 60)


@register.filter
def money(value, currency: str = "GBP") -> str:
    """Gives "£1,234.50", rounded half up to the penny."""
    number = _decimal(value)
    if number is None:
        return ""
    words = _plain(number, 2)
    sign = SIGNS.get(currency, f"{currency}{NARROW}")
    return f"{MINUS}{sign}{words[1:]}" if words.startswith(MINUS) else f"{sign}{words}"


@register.filter
def mass(grams) -> str:
    """Gives "850 g" under a kilogram, "36.7 kg" under a hundred, else "1,240 kg", for grams."""
    number = _decimal(grams)
    if number is None:
        return ""
    if abs(number) < 1000:
        return f"{_plain(number, 0)}{NARROW}g"
    return f"{_plain(number / 1000, 1 if abs(number) < 100_000 else 0)}{NARROW}kg"


@register.filter
def kilograms(value) -> str:
    """Gives "3,500 kg" for kilograms, with a tenth where there is one."""
    number = _decimal(value)
    if number is None:
        return ""
    places = 0 if number == number.to_integral_value() else 1
    return f"{_plain(number, places)}{NARROW}kg"


@register.filter
def mm(value) -> str:
    """Gives "2,440 mm" for millimetres, with a tenth where there is one."""
    number = _decimal(value)
    if number is None:
        return ""
    places = 0 if number == number.to_integral_value() else 1
    return f"{_plain(number, places)}{NARROW}mm"


@register.filter
def metres(value_mm) -> str:
    """Gives "2.44 m" for millimetres."""
    number = _decimal(value_mm)
    return "" if number is None else f"{_plain(number / 1000, 2)}{NARROW}m"


@register.filter
def number(value, places: int = 0) -> str:
    """Gives "1,234" with that many decimal places."""
    figure = _decimal(value)
    return "" if figure is None else _plain(figure, places)


@register.filter
def percent(share) -> str:
    """Gives "80 %" for 0.8."""
    figure = _decimal(share)
    return "" if figure is None else f"{_plain(figure * 100, 0)}{NARROW}%"


# Words


@register.filter
def count(value: int | None, names: str) -> str:
    """Gives "1 task" or "3 tasks" for the names "task,tasks"; "no tasks" for none."""
    one, many = names.split(",")
    if not value:
        return f"no {many}"
    return f"1 {one}" if value == 1 else f"{value:,} {many}"


@register.filter
def listed(values: Iterable | None) -> str:
    """Gives "a, b and c"."""
    words = [str(value) for value in values or ()]
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


@register.filter
@stringfilter
def starting_large(value: str) -> str:
    """Makes the first letter large and leaves the rest, unlike Django's `title`."""
    return value[:1].upper() + value[1:]


# Marks


@register.simple_tag
def mark(name: str) -> SafeString:
    """Draws the shape called `name`, hidden from screen readers: a word always stands beside it."""
    inside = mark_safe(SHAPES[name])
    return format_html(
        '<svg class="mark" viewBox="0 0 16 16" width="16" height="16" aria-hidden="true">{}</svg>', inside
    )


@register.simple_tag
def state(word: str, words: str = "") -> SafeString:
    """Draws the shape of a state with its word, or with `words` instead: state "late" "3 days late"."""
    shape, tone = TONES[word]
    return format_html('<span class="state tone-{}">{}{}</span>', tone, mark(shape), words or word)


@register.inclusion_tag("components/bar.html")
def bar(needed, there, label: str = "", longest=None) -> dict:
    """Draws hours needed against hours there, with the same in words.

    Bars that stand under each other are given the same `longest`, so that they can be compared.
    """
    asked, have = _at_least_none(needed), _at_least_none(there)
    scale = max(asked, have, _at_least_none(longest), Decimal(1))
    over = max(asked - have, Decimal(0))

    def length_px(value: Decimal) -> int:
        return int(value / scale * 160)

    return {
        "label": label,
        "needed": hours(asked),
        "there": hours(have),
        "over": hours(over) if over else "",
        "within_px": length_px(min(asked, have)),
        "there_px": length_px(have),
        "over_px": length_px(asked) - length_px(min(asked, have)),
    }


def _at_least_none(value) -> Decimal:
    return max(_decimal(value) or Decimal(0), Decimal(0))
