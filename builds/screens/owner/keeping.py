"""Forms that keep something through one action: the input stays, each refusal stands at its field."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from django import forms
from django.db import models

from builds.actions.checked import edition
from builds.actions.door import Gone, Refused, Stale

Group = tuple[str, list[forms.BoundField]]


class KeptForm(forms.Form):
    """A form whose fields are named as the action names them.

    `of` gives the records it was made from: when they are others by the time it comes back, the
    action refuses and the form shows what was typed, now against what is there.
    `groups` names its parts, `units` what stands behind a field.
    """

    groups: tuple[tuple[str, tuple[str, ...]], ...] = ()
    units: dict[str, str] = {}

    seen = forms.CharField(required=False, widget=forms.HiddenInput, max_length=40)

    def __init__(self, *args, of: Callable[[], list[models.Model]] | None = None, **kwargs) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)
        self.of = of
        self.is_stale = False
        if of is not None and not self.is_bound:
            self.initial["seen"] = edition(*of())
        for name, unit in self.units.items():
            self.fields[name].unit = unit

    def parts(self) -> Iterator[Group]:
        """The visible fields in their groups, those of no group first."""
        named = {name for _, names in self.groups for name in names}
        loose = [field for field in self.visible_fields() if field.name not in named]
        if loose:
            yield "", loose
        for title, names in self.groups:
            yield title, [self[name] for name in names]

    def values(self) -> dict[str, object]:
        """What was typed, without the form's own marks."""
        return {name: value for name, value in self.cleaned_data.items() if name != "seen"}

    @property
    def seen_then(self) -> str | None:
        return self.cleaned_data.get("seen") or None

    @property
    def status(self) -> int:
        if self.is_stale:
            return 409
        return 422 if self.is_bound and self.errors else 200

    def refuse(self, error: Refused) -> None:
        visible = error.field in self.fields and not self.fields[error.field].widget.is_hidden
        self.add_error(error.field if visible else None, error.words)
        if isinstance(error, Stale) and self.of is not None:
            self.is_stale = True
            self.data = self.data.copy()
            self.data[self.add_prefix("seen")] = edition(*self.of())


class KeptRecordForm(KeptForm, forms.ModelForm):
    """A `KeptForm` with the fields of one record; unique names are the action's business."""

    def validate_unique(self) -> None:
        return


def kept(form: KeptForm, action: Callable[[], object]) -> bool:
    """Runs the action when the form is whole; False when something has to be looked at again."""
    if not form.is_valid():
        return False
    try:
        action()
    except Gone:
        raise
    except Refused as error:
        form.refuse(error)
        return False
    return True


class DayInput(forms.DateInput):
    """A day, as the browser's own day field wants it."""

    input_type = "date"

    def __init__(self, attrs=None) -> None:
        super().__init__(attrs, format="%Y-%m-%d")


class ClockField(forms.TimeField):
    """A time by the 24-hour clock, typed as 8, 8:30 or 0830, whatever the browser's language."""

    def __init__(self, **kwargs) -> None:
        formats = ["%H:%M", "%H.%M", "%H%M", "%H"]
        attrs = {"inputmode": "numeric", "autocomplete": "off", "class": "clock", "maxlength": 5}
        widget = forms.TimeInput(attrs, format="%H:%M")
        errors = {"invalid": "Write a time as 8:30 or 14:00."}
        super().__init__(input_formats=formats, widget=widget, error_messages=errors, **kwargs)
