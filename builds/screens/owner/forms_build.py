"""The forms of a build: they check shape only; what may be is the actions' word."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import QueryDict

from builds.actions.builds import NewBuild
from builds.actions.composing import InstallationChoice, UnitChoice
from builds.actions.door import Refused
from builds.models import BodySize, Build, InstallationKind, UnitKind

VAN_FIELDS = (
    "wheelbase_mm", "overall_length_mm", "load_length_mm", "load_width_mm", "load_height_mm",
    "rear_overhang_mm", "plated_mass_kg", "front_axle_limit_kg", "rear_axle_limit_kg", "arriving_mass_kg",
)  # fmt: skip
USUAL_UNITS = ("seat_box", "kitchen", "overhead", "wardrobe", "bed", "worktop", "fronts", "door_cards")


class Day(forms.DateField):
    """A day, typed or chosen; the browser gives it as ISO 8601."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")

    def __init__(self, **more: Any) -> None:
        super().__init__(error_messages={"invalid": "Give a day, for example 2027-03-08."}, **more)


def refuse_in(form: forms.Form, error: Refused) -> None:
    """Puts an action's words beside the field they belong to, or above the form."""
    form.add_error(error.field if error.field in form.fields else None, error.words)


class VanFields(forms.ModelForm):
    """Sizes and masses of the base van."""

    class Meta:
        model = Build
        fields = VAN_FIELDS
        labels = {
            "wheelbase_mm": "Wheelbase",
            "overall_length_mm": "Overall length",
            "load_length_mm": "Load length",
            "load_width_mm": "Load width",
            "load_height_mm": "Load height",
            "rear_overhang_mm": "Rear overhang",
            "plated_mass_kg": "Plated mass",
            "front_axle_limit_kg": "Front axle limit",
            "rear_axle_limit_kg": "Rear axle limit",
            "arriving_mass_kg": "Mass as it arrives",
        }

    def _post_clean(self) -> None:
        """The action checks the whole build; here only the shape of the figures."""

    @property
    def sizes(self) -> list:
        return [self[name] for name in VAN_FIELDS if name.endswith("_mm")]

    @property
    def masses(self) -> list:
        return [self[name] for name in VAN_FIELDS if name.endswith("_kg")]

    @staticmethod
    def of_body(body: BodySize | None) -> VanFields:
        """The fields filled with a generic body size."""
        return VanFields(initial={name: getattr(body, name) for name in VAN_FIELDS} if body else {})


class NewBuildForm(forms.Form):
    name = forms.CharField(label="Name of the van", max_length=60, help_text="What you call it in the shop.")
    registration = forms.CharField(label="Registration", max_length=20, required=False)
    customer_name = forms.CharField(label="Customer", max_length=80)
    customer_email = forms.EmailField(label="Email", required=False)
    customer_phone = forms.CharField(label="Phone", max_length=30, required=False)
    body_size = forms.ModelChoiceField(
        label="Body size",
        queryset=BodySize.objects.all(),
        to_field_name="key",
        required=False,
        empty_label="another size",
    )
    survey_on = Day(label="Survey day", required=False)
    arrives_on = Day(label="Comes to stay on", required=False)
    promised_on = Day(
        label="Promised handover", required=False, help_text="May wait until the plan shows a date."
    )
    price_agreed = forms.DecimalField(
        label="Price agreed, with VAT", required=False, max_digits=10, decimal_places=2, min_value=0
    )
    status = forms.ChoiceField(
        label="Is it agreed?",
        choices=[
            ("agreed", "Agreed: plan it with the others"),
            ("asked", "Only asked about: leave it out of the plan"),
        ],
        widget=forms.RadioSelect,
        initial="agreed",
    )
    notes = forms.CharField(
        label="Notes", required=False, max_length=10000, widget=forms.Textarea(attrs={"rows": 3})
    )
    token = forms.UUIDField(widget=forms.HiddenInput, required=False)


class UnitRow(forms.Form):
    """One unit picked: its kind stays, name and outer sizes may be changed."""

    kind = forms.SlugField(widget=forms.HiddenInput)
    name = forms.CharField(label="Name", max_length=60)
    width_mm = forms.IntegerField(label="Width", min_value=1, max_value=10000)
    depth_mm = forms.IntegerField(label="Depth", min_value=1, max_value=10000)
    height_mm = forms.IntegerField(label="Height", min_value=1, max_value=10000)
    stands = forms.CharField(label="Where", max_length=60, required=False)

    @staticmethod
    def usual(kind: UnitKind) -> UnitRow:
        prefix = f"u{secrets.token_hex(3)}"
        initial = {
            "kind": kind.key,
            "name": kind.name,
            "width_mm": kind.width_mm,
            "depth_mm": kind.depth_mm,
            "height_mm": kind.height_mm,
        }
        return UnitRow(prefix=prefix, initial=initial)

    @property
    def choice(self) -> UnitChoice:
        return UnitChoice(**self.cleaned_data)


@dataclass
class InstallationRow:
    """One installation that may be picked, with how many of it there are."""

    kind: InstallationKind
    is_picked: bool
    count: str
    error: str = ""

    @property
    def choice(self) -> InstallationChoice:
        return InstallationChoice(self.kind.key, int(self.count or 1))

    def check(self) -> bool:
        if self.is_picked and self.count and not (self.count.isdecimal() and len(self.count) < 4):
            self.error = "Give a whole number."
        return not self.error


class NewBuildInput:
    """Everything on the page of a new build, as typed or as it is usual at first."""

    def __init__(self, data: QueryDict | None = None) -> None:
        self.kinds = list(UnitKind.objects.filter(withdrawn=False))
        installations = InstallationKind.objects.filter(withdrawn=False)
        self.errors: dict[str, str] = {}
        if data is None:
            self._usual(installations)
        else:
            self._typed(data, installations)

    def _usual(self, installations) -> None:
        import uuid

        body = BodySize.objects.filter(key="medium_high").first() or BodySize.objects.first()
        self.form = NewBuildForm(initial={"body_size": body, "status": "agreed", "token": uuid.uuid4()})
        self.van = VanFields.of_body(body)
        by_key = {kind.key: kind for kind in self.kinds}
        self.units = [UnitRow.usual(by_key[key]) for key in USUAL_UNITS if key in by_key]
        self.installations = [
            InstallationRow(kind, kind.usual, str(kind.usual_count)) for kind in installations
        ]

    def _typed(self, data: QueryDict, installations) -> None:
        self.form = NewBuildForm(data)
        self.van = VanFields(data)
        self.units = [UnitRow(data, prefix=prefix) for prefix in data.getlist("unit")[:80]]
        picked = set(data.getlist("installation"))
        self.installations = [
            InstallationRow(kind, kind.key in picked, data.get(f"count-{kind.key}", "").strip())
            for kind in installations
        ]

    def is_valid(self) -> bool:
        parts = [self.form.is_valid(), self.van.is_valid(), *(row.is_valid() for row in self.units)]
        return all([*parts, *(row.check() for row in self.installations)])

    def new_build(self) -> NewBuild:
        """What the action takes; only after `is_valid`."""
        words = self.form.cleaned_data
        body = words["body_size"]
        return NewBuild(
            name=words["name"],
            customer_name=words["customer_name"],
            customer_email=words["customer_email"],
            customer_phone=words["customer_phone"],
            status=words["status"],
            van={
                **self.van.cleaned_data,
                "body_name": body.name if body else "",
                "registration": words["registration"],
            },
            survey_on=words["survey_on"],
            arrives_on=words["arrives_on"],
            promised_on=words["promised_on"],
            price_agreed=words["price_agreed"],
            notes=words["notes"],
            units=tuple(row.choice for row in self.units),
            installations=tuple(row.choice for row in self.installations if row.is_picked),
        )

    def refuse(self, error: Refused) -> None:
        if error.field in ("units", "installations"):
            self.errors[error.field] = error.words
        elif error.field in VAN_FIELDS:
            self.van.add_error(error.field, error.words)
        else:
            refuse_in(self.form, error)


class BuildFactsForm(forms.ModelForm):
    """Facts of a build that is under way."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    survey_on = Day(label="Survey day", required=False)
    arrives_on = Day(label="Comes to stay on", required=False)

    class Meta:
        model = Build
        fields = (
            "name",
            "registration",
            "survey_on",
            "arrives_on",
            "promise_weight",
            "price_agreed",
            "notes",
        )
        widgets = {"notes": forms.Textarea(attrs={"rows": 4})}
        help_texts = {
            "promise_weight": "1 for most; more where a day late costs more.",
        }

    def _post_clean(self) -> None:
        """The action checks the whole build; here only the shape of what was typed."""


class CustomerForm(forms.Form):
    name = forms.CharField(label="Name", max_length=80)
    email = forms.EmailField(label="Email", required=False)
    phone = forms.CharField(label="Phone", max_length=30, required=False)
    address = forms.CharField(
        label="Address", max_length=400, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )


class PromiseForm(forms.Form):
    promised_on = Day(label="Handover promised for")
    why = forms.CharField(
        label="Why it changes",
        max_length=200,
        required=False,
        help_text="Stays on record; not shown to the customer.",
    )
    version = forms.IntegerField(widget=forms.HiddenInput)
