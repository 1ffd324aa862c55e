"""The forms of orders: how many packs, when sent, what came."""

from __future__ import annotations

from collections.abc import Iterator

from django import forms

from builds.actions.door import Refused, Stale
from builds.actions.orders import MOST_PACKS
from builds.actions.receipts import Came
from builds.queries.orders import LineOfOrder, OrderPage

from .keeping import DayInput, KeptForm

NUMBER = {"inputmode": "numeric", "class": "packs"}


class OrderForm(KeptForm):
    """A form of an order as the page showed it; `version` is refused when it is another's by then."""

    version = forms.IntegerField(widget=forms.HiddenInput, min_value=0, required=False)

    def __init__(self, *args, order: OrderPage, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.order = order
        self.initial["version"] = order.version

    def refuse(self, error: Refused) -> None:
        super().refuse(error)
        self.is_stale = isinstance(error, Stale)
        if self.is_stale:
            self.data = self.data.copy()
            self.data["version"] = self.order.version


class DraftForm(OrderForm):
    """How many packs of each line, and the note."""

    note = forms.CharField(
        label="Note on the order", required=False, max_length=300, widget=forms.Textarea({"rows": 2})
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.initial["note"] = self.order.note
        for line in self.order.lines:
            self.fields[f"packs-{line.pk}"] = _count(f"How many of {line.name}", most=MOST_PACKS)
            self.initial[f"packs-{line.pk}"] = line.packs

    def rows(self) -> Iterator[tuple[LineOfOrder, forms.BoundField]]:
        for line in self.order.lines:
            yield line, self[f"packs-{line.pk}"]

    def values(self) -> dict[str, object]:
        kept = super().values()
        packs = {line.pk: kept.pop(f"packs-{line.pk}") for line in self.order.lines}
        return kept | {"packs": packs}


class AddLineForm(OrderForm):
    material = forms.TypedChoiceField(label="Something more", coerce=int)
    packs = forms.IntegerField(
        label="Packs", min_value=1, max_value=MOST_PACKS, initial=1, widget=forms.NumberInput(NUMBER)
    )

    def __init__(self, *args, choices: list[tuple[int, str]], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["material"].choices = choices


class SendForm(OrderForm):
    sent_on = forms.DateField(label="Sent on", widget=DayInput)
    expected_on = forms.DateField(label="Comes on", required=False, widget=DayInput)


class BookForm(OrderForm):
    """What came of each line that is still to come."""

    came_on = forms.DateField(label="Came on", widget=DayInput)
    rest_on = forms.DateField(label="The rest comes on", required=False, widget=DayInput)
    note = forms.CharField(label="Note", required=False, max_length=200)
    token = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["rest_on"].help_text = "where some is still to come; empty leaves the day as it is"
        for line in self.order.open_lines:
            for name, words, first in (
                ("good", "came", line.open_packs),
                ("damaged", "came damaged", 0),
                ("missing", "won’t come", 0),
            ):
                key = f"{name}-{line.pk}"
                self.fields[key] = _count(f"How many of {line.name} {words}")
                self.initial[key] = first

    def rows(self) -> Iterator[tuple[LineOfOrder, list[forms.BoundField]]]:
        for line in self.order.open_lines:
            yield line, [self[f"{name}-{line.pk}"] for name in ("good", "damaged", "missing")]

    def values(self) -> dict[str, object]:
        kept = super().values()
        came = {
            line.pk: Came(*(kept.pop(f"{name}-{line.pk}") or 0 for name in ("good", "damaged", "missing")))
            for line in self.order.open_lines
        }
        return kept | {"came": came}


class DayForm(OrderForm):
    expected_on = forms.DateField(label="Now comes on", widget=DayInput)


def _count(label: str, most: int = 10000) -> forms.IntegerField:
    return forms.IntegerField(
        label=label, min_value=0, max_value=most, widget=forms.NumberInput(NUMBER | {"min": 0})
    )
