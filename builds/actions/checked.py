"""What an action checks of a record before it is kept: its fields, dates, spans, and that it is unchanged."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from datetime import date, time
from itertools import chain, count, pairwise

from django.core.exceptions import ValidationError
from django.db import models
from django.utils.text import slugify

from builds.actions.door import Gone, Refused, Stale

FIRST_YEAR, LAST_YEAR = 2000, 2099
GRID_MINUTES = 15
MOST_SPANS = 4

Span = tuple[time, time]


def edition(*records: models.Model) -> str:
    """A short word for what the records hold now; it differs as soon as one of them was changed."""
    held = [
        [record.pk, *(str(field.value_from_object(record)) for field in record._meta.concrete_fields)]
        for record in records
    ]
    return hashlib.sha256(repr(held).encode()).hexdigest()[:16]


def check_edition(name: str, seen: str | None, *records: models.Model) -> None:
    """Refuses when the records are not what the form was made from (None: not asked)."""
    if seen is not None and seen != edition(*records):
        raise Stale(f"{name} changed in the meantime. Look at it as it is now and try again.")


def fresh(model: type[models.Model], record: models.Model) -> models.Model:
    """The record as it is now, locked; Gone when it was removed. Call inside a write."""
    found = model.objects.select_for_update().filter(pk=record.pk).first()
    if found is None:
        raise Gone("That is not there any more. Somebody removed it.")
    return found


def put_fields(record: models.Model, fields: Mapping[str, object], allowed: Iterable[str]) -> list[str]:
    """Sets the fields given, checks them, and gives the labels of those that changed. Does not save."""
    known = set(allowed)
    strange = sorted(set(fields) - known)
    if strange:
        raise TypeError(f"{type(record).__name__} takes no {', '.join(strange)}")
    before = {name: getattr(record, name) for name in fields}
    for name, value in fields.items():
        setattr(record, name, value.strip() if isinstance(value, str) else value)
    check_fields(record, only=fields)
    return [
        str(record._meta.get_field(name).verbose_name)
        for name in fields
        if getattr(record, name) != before[name]
    ]


def check_fields(record: models.Model, *, only: Iterable[str] | None = None) -> None:
    """Refuses what the model's fields do not take, at the first field that is wrong."""
    names = {f.name for f in record._meta.fields}
    exclude = names - set(only) if only is not None else set()
    try:
        record.clean_fields(exclude=exclude)
    except ValidationError as error:
        field, problems = next(iter(error.message_dict.items()))
        raise Refused(problems[0], field=field) from None


def free_key(model: type[models.Model], name: str) -> str:
    """A key made from `name` that no row of `model` has yet; a number where the name gives no letters."""
    longest = model._meta.get_field("key").max_length
    stem = slugify(name).replace("-", "_")[: longest - 4] or "row"
    taken = set(model.objects.filter(key__startswith=stem).values_list("key", flat=True))
    numbered = (f"{stem}_{n}" for n in count(2))
    return next(key for key in chain([stem], numbered) if key not in taken)


def next_order(model: type[models.Model]) -> int:
    """The place behind all rows of `model`."""
    return (model.objects.aggregate(top=models.Max("order"))["top"] or 0) + 1


def check_day(day: date, field: str, *, not_after: date | None = None) -> date:
    """Refuses days outside this century, and days still to come where they can't be."""
    if not isinstance(day, date) or not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise Refused(f"Give a day between {FIRST_YEAR} and {LAST_YEAR}.", field=field)
    if not_after is not None and day > not_after:
        raise Refused("That day is still to come.", field=field)
    return day


def day_words(day: date) -> str:
    """A day as the journal writes it: "Fri 6 Nov"."""
    return f"{day:%a} {day.day} {day:%b}"


def day_year(day: date) -> str:
    """A day with its year: "Fri 6 Nov 2026"."""
    return f"{day_words(day)} {day.year}"


def check_spans(
    spans: Mapping[int, Iterable[Span]], weekday_names: Mapping[int, str]
) -> dict[int, list[Span]]:
    """Spans of a week, sorted; refuses more than four a day, and what runs backwards, overlaps or is off
    the 15-minute grid."""
    checked: dict[int, list[Span]] = {}
    for weekday, given in spans.items():
        field = f"day-{weekday}"
        if weekday not in weekday_names:
            raise Refused("There is no such weekday.", field=field)
        rows = sorted(given)
        if len(rows) > MOST_SPANS:
            raise Refused(f"A day has at most {MOST_SPANS} stretches.", field=field)
        for start, end in rows:
            _check_span(start, end, weekday_names[weekday], field)
        for (_, end), (start, _) in pairwise(rows):
            if start < end:
                raise Refused(
                    f"{weekday_names[weekday]}: two stretches overlap at {start:%H:%M}.", field=field
                )
        if rows:
            checked[weekday] = rows
    return checked


def _check_span(start: time, end: time, name: str, field: str) -> None:
    if end <= start:
        raise Refused(f"{name}: {start:%H:%M} to {end:%H:%M} runs backwards.", field=field)
    for at in (start, end):
        if at.minute % GRID_MINUTES or at.second or at.microsecond:
            raise Refused(f"{name}: {at:%H:%M} is not on a quarter of an hour.", field=field)
