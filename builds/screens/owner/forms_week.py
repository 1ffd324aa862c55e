"""A week of hours: each weekday with a few stretches of time, the gaps between them breaks."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from django import forms
from django.db import models

from builds.actions.checked import MOST_SPANS, Span
from builds.models.shop import WEEKDAYS

from .keeping import ClockField, KeptForm

SPANS = MOST_SPANS
COPIED_TO = (1, 2, 3, 4)


@dataclass(frozen=True)
class DayFields:
    name: str
    spans: list[tuple[forms.BoundField, forms.BoundField]]
    errors: list[str]


class WeekForm(KeptForm):
    """Up to four stretches a weekday; a pair left empty is no stretch."""

    def __init__(
        self,
        data=None,
        *,
        week: Mapping[int, Iterable[Span]],
        of: Callable[[], list[models.Model]],
    ) -> None:
        super().__init__(data, of=of)
        self.day_errors: dict[int, str] = {}
        for weekday, name in WEEKDAYS:
            spans = sorted(week.get(weekday, ()))
            for n in range(SPANS):
                for end, word in enumerate(("from", "to")):
                    field = ClockField(required=False, label=f"{name}, {word} ({n + 1})")
                    field.widget.attrs["aria-label"] = field.label
                    field.initial = spans[n][end] if n < len(spans) else None
                    self.fields[f"d{weekday}-{n}-{word}"] = field

    def days(self) -> list[DayFields]:
        return [self._day(weekday, name) for weekday, name in WEEKDAYS]

    def _day(self, weekday: int, name: str) -> DayFields:
        pairs = [(self[f"d{weekday}-{n}-from"], self[f"d{weekday}-{n}-to"]) for n in range(SPANS)]
        errors = [str(e) for pair in pairs for field in pair for e in field.errors]
        return DayFields(name, pairs, errors)

    def clean(self) -> dict:
        data = super().clean()
        for weekday, name in WEEKDAYS:
            for n in range(SPANS):
                start, end = data.get(f"d{weekday}-{n}-from"), data.get(f"d{weekday}-{n}-to")
                missing = "from" if start is None else "to"
                field = f"d{weekday}-{n}-{missing}"
                if (start is None) != (end is None) and field not in self.errors:
                    self.add_error(field, f"{name}: both times are needed, or none.")
        return data

    def spans(self) -> dict[int, list[Span]]:
        """The week as typed: weekday to its stretches."""
        data = self.cleaned_data
        found: dict[int, list[Span]] = {}
        for weekday, _ in WEEKDAYS:
            pairs = [(data[f"d{weekday}-{n}-from"], data[f"d{weekday}-{n}-to"]) for n in range(SPANS)]
            found[weekday] = [(start, end) for start, end in pairs if start and end]
        return {weekday: rows for weekday, rows in found.items() if rows}

    def refuse(self, error) -> None:
        if error.field and error.field.startswith("day-"):
            error.field = f"d{error.field.removeprefix('day-')}-0-from"
        super().refuse(error)


def monday_copied(data: Mapping[str, str]) -> dict[str, str]:
    """The typed week with Monday's times on Tuesday to Friday."""
    copied = {name: data[name] for name in data}
    for weekday in COPIED_TO:
        for n in range(SPANS):
            for word in ("from", "to"):
                copied[f"d{weekday}-{n}-{word}"] = data.get(f"d0-{n}-{word}", "")
    return copied


def copied_from(week: Mapping[int, Iterable[Span]], data: Mapping[str, str]) -> dict[str, str]:
    """The typed week with another week's times in place of its own."""
    copied = {"seen": data.get("seen", "")}
    for weekday, spans in week.items():
        for n, (start, end) in enumerate(sorted(spans)):
            copied[f"d{weekday}-{n}-from"] = f"{start:%H:%M}"
            copied[f"d{weekday}-{n}-to"] = f"{end:%H:%M}"
    return copied
