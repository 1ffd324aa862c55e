"""The form of a hold point of the shop: what it is, and the readings it asks for."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from builds.actions.standard_checks import TYPED
from builds.models import Caution, StandardHoldPoint, Trade

from .keeping import KeptForm

SPARE_ROWS = 3
ROWS_AT_FIRST = 5
MOST_ROWS = 20
KINDS = (
    ("number", "a number"),
    ("yes", "yes or no, yes is wanted"),
    ("no", "yes or no, no is wanted"),
    ("text", "words"),
)
ROW = ("label", "kind", "unit", "least", "most", "basis")


class CheckForm(KeptForm):
    """A hold point with a row for each reading; a row whose label is empty counts for nothing."""

    name = forms.CharField(label="Its name", max_length=80)
    licensed_trade = forms.ChoiceField(label="Only a competent person of this trade", required=False)
    caution = forms.ChoiceField(label="Caution shown with it", required=False)
    photo_wanted = forms.BooleanField(label="A photo is wanted before it is signed", required=False)
    certificate_due = forms.BooleanField(
        label="A certificate’s reference is due; the handover waits for it", required=False
    )
    may_overrule = forms.BooleanField(
        label="The owner may overrule it in writing", required=False, initial=True
    )

    def __init__(self, *args, check: StandardHoldPoint | None = None, **kwargs) -> None:
        typed = [f for f in check.fields if f.get("kind") in TYPED] if check else []
        kwargs.setdefault("initial", _initial(check, typed) if check else {})
        super().__init__(*args, **kwargs)
        self.check = check
        self.fields["licensed_trade"].choices = [
            ("", "anybody"),
            *Trade.objects.filter(licensed=True).values_list("key", "name"),
        ]
        cautions = [(key, key.replace("_", " ")) for key in Caution.objects.values_list("key", flat=True)]
        self.fields["caution"].choices = [("", "none"), *cautions]
        shown = len(typed) + SPARE_ROWS if check else ROWS_AT_FIRST
        self.rows = range(min(MOST_ROWS, shown))
        for n in self.rows:
            self._add_row(n)
        self.groups = tuple(
            (f"Reading {n + 1}", tuple(f"reading{n}_{part}" for part in ROW)) for n in self.rows
        )

    def _add_row(self, n: int) -> None:
        row = {
            "key": forms.CharField(required=False, widget=forms.HiddenInput, max_length=40),
            "label": forms.CharField(label="What is read or looked at", required=False, max_length=80),
            "kind": forms.ChoiceField(label="It is", required=False, choices=KINDS),
            "unit": forms.CharField(label="Unit", required=False, max_length=12),
            "least": forms.DecimalField(label="At least", required=False, max_digits=9, decimal_places=3),
            "most": forms.DecimalField(label="At most", required=False, max_digits=9, decimal_places=3),
            "basis": forms.CharField(label="Where the limit is from", required=False, max_length=200),
        }
        for part, field in row.items():
            self.fields[f"reading{n}_{part}"] = field

    @property
    def worked_out(self) -> tuple[str, ...]:
        """What the standard check works out or lets choose; it stays as it is."""
        fields = self.check.fields if self.check else ()
        return tuple(str(f["label"]) for f in fields if f.get("kind") not in TYPED)

    def hidden_keys(self) -> list[forms.BoundField]:
        return [self[f"reading{n}_key"] for n in self.rows]

    def values(self) -> dict[str, object]:
        """As `standard_checks` takes it, with the rows under `readings`."""
        given = {name: value for name, value in super().values().items() if not name.startswith("reading")}
        self.places = [n for n in self.rows if self.cleaned_data.get(f"reading{n}_label")]
        return given | {"readings": [self._row(n) for n in self.places]}

    def _row(self, n: int) -> dict[str, Any]:
        row = {part: self.cleaned_data.get(f"reading{n}_{part}") for part in ("key", *ROW)}
        kind = row["kind"] or "number"
        return row | {"kind": "yes" if kind in ("yes", "no") else kind, "wanted": kind != "no"}

    def refuse(self, error) -> None:
        """Puts the words at the row as it stands on the page: empty rows above it count for nothing."""
        if error.field and error.field.startswith("reading"):
            number, _, part = error.field.removeprefix("reading").partition("_")
            error.field = f"reading{self.places[int(number)]}_{part}"
        super().refuse(error)


def _initial(check: StandardHoldPoint, typed: list[Mapping[str, Any]]) -> dict[str, Any]:
    names = ("name", "licensed_trade", "caution", "photo_wanted", "certificate_due", "may_overrule")
    initial = {name: getattr(check, name) for name in names}
    for n, field in enumerate(typed):
        kind = str(field.get("kind"))
        initial |= {
            f"reading{n}_{part}": field.get(part)
            for part in ("key", "label", "unit", "least", "most", "basis")
        }
        initial[f"reading{n}_kind"] = "no" if kind == "yes" and not field.get("wanted", True) else kind
    return initial
