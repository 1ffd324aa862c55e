"""The forms of parts by hand: one part in millimetres, and a list of them as text or a file."""

from __future__ import annotations

import uuid

from django import forms

from builds.actions.door import Refused
from builds.engines.cutting.measures import millimetres
from builds.models import Part
from builds.queries.joinery import Boards

from .forms_lists import ListForm
from .forms_units import size_field, tenths_of


class PartForm(forms.Form):
    """One part as it is cut. Sizes are in millimetres, the scribe allowance in them."""

    groups = (
        ("Size, as it is cut", ("length_tenths", "width_tenths", "thickness_tenths")),
        ("Cut from", ("material", "grain", "run", "run_place")),
        ("Edges", ("finished_edges", "scribe_edges", "scribe_tenths")),
    )

    version = forms.IntegerField(widget=forms.HiddenInput, required=False, min_value=0)
    token = forms.UUIDField(widget=forms.HiddenInput, required=False)
    name = forms.CharField(label="Part", max_length=80)
    count = forms.IntegerField(
        label="How many", min_value=1, max_value=999, error_messages={"invalid": "A whole number."}
    )
    length_tenths = size_field("Length")
    width_tenths = size_field("Width")
    thickness_tenths = size_field(
        "Thickness", required=False, hint="Only where the board has none of its own"
    )
    material = forms.ChoiceField(label="Board or length")
    grain = forms.ChoiceField(label="Grain", choices=Part.GRAINS)
    run = forms.CharField(
        label="Side by side from one strip",
        max_length=40,
        required=False,
        help_text="Parts with the same word here are cut in order, so that the grain runs on.",
    )
    run_place = forms.IntegerField(label="Place in the strip", min_value=1, max_value=99, required=False)
    finished_edges = forms.MultipleChoiceField(
        label="Finished", choices=Part.EDGES, required=False, widget=forms.CheckboxSelectMultiple
    )
    scribe_edges = forms.MultipleChoiceField(
        label="With a scribe allowance",
        choices=Part.EDGES,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    scribe_tenths = size_field("Scribe allowance", required=False)
    note = forms.CharField(label="Note", max_length=200, required=False)

    def __init__(self, *args, boards: Boards, part: Part | None = None, **kwargs) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self._boards = boards
        offered = [*boards.choices(lengths=False), *boards.choices(lengths=True)[1:]]
        if part is not None and part.material_id not in dict(offered):
            offered.append((part.material_id, f"{part.material.name}, withdrawn"))
        self.fields["material"].choices = offered
        for name, field in self.fields.items():
            field.unit = "mm" if name.endswith("_tenths") else ""

    @staticmethod
    def of(part: Part, boards: Boards) -> PartForm:
        start = {name: getattr(part, name) for name in ("name", "count", "grain", "run", "run_place", "note")}
        start |= {name: getattr(part, name) for name in ("finished_edges", "scribe_edges", "version")}
        sizes = ("length_tenths", "width_tenths", "thickness_tenths", "scribe_tenths")
        start |= {name: millimetres(getattr(part, name)) for name in sizes}
        return PartForm(initial=start | {"material": part.material_id}, boards=boards, part=part)

    @staticmethod
    def empty(boards: Boards) -> PartForm:
        """With a number of its own, so that the form counts once however often it is sent."""
        return PartForm(initial={"count": 1, "token": uuid.uuid4()}, boards=boards)

    def parts(self):
        yield "", [self["name"], self["count"]]
        for title, names in self.groups:
            yield title, [self[name] for name in names]
        yield "", [self["note"]]

    @property
    def values(self) -> dict[str, object]:
        """The fields as the action takes them: tenths and a material."""
        given = {n: v for n, v in self.cleaned_data.items() if n not in ("version", "token")}
        for name, value in given.items():
            if name.endswith("_tenths"):
                given[name] = tenths_of(value)
        return given | {"material": self._boards.of(int(given["material"]))}

    def refuse(self, error: Refused) -> None:
        self.add_error(error.field if error.field in self.fields else None, error.words)


class PartListForm(ListForm):
    """A list of parts; `token` makes it count once, `once_more` adds what the unit has already."""

    token = forms.UUIDField(widget=forms.HiddenInput, required=False)
    once_more = forms.BooleanField(label="Add those that are there already once more", required=False)

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["text"].help_text = "Copied out of a spreadsheet, or CSV with commas"

    def with_text(self) -> ListForm:
        self.cleaned_data["token"] = self.cleaned_data["token"] or uuid.uuid4()
        return super().with_text()
