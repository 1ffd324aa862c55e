"""The forms of stock and offcuts."""

from __future__ import annotations

from django import forms

from builds.actions.door import Refused, Stale
from builds.models import Build, Material, Offcut
from builds.models.stock import LONGEST_MM

from .keeping import KeptForm

HOW_MUCH = "A number, or with its unit: 2400 mm, 1.5 l."


class TokenForm(KeptForm):
    """A form that books something; its token keeps a second press from booking twice."""

    token = forms.UUIDField(widget=forms.HiddenInput, required=False)


class CountForm(TokenForm):
    quantity = forms.CharField(label="There is", max_length=20, help_text=HOW_MUCH)
    place = forms.CharField(label="It lies", required=False, max_length=60)
    why = forms.CharField(label="Why it differs", required=False, max_length=200)


class TakeForm(TokenForm):
    kind = forms.ChoiceField(
        label="What happened", choices=[("taken", "taken for a van"), ("lost", "broken, spoilt or lost")]
    )
    quantity = forms.CharField(label="How much", max_length=20, help_text=HOW_MUCH)
    build = forms.ModelChoiceField(
        label="For", queryset=Build.objects.none(), required=False, empty_label="–"
    )
    why = forms.CharField(label="Note", required=False, max_length=200)

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["build"].queryset = Build.objects.current()


class BackForm(TokenForm):
    quantity = forms.CharField(label="How much", max_length=20, help_text=HOW_MUCH)
    build = forms.ModelChoiceField(
        label="From", queryset=Build.objects.none(), required=False, empty_label="–"
    )
    why = forms.CharField(label="Note", required=False, max_length=200)

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["build"].queryset = Build.objects.current()


class OffcutSizes(KeptForm):
    units = {"length_mm": "mm", "width_mm": "mm"}

    length_mm = forms.IntegerField(label="Length, along the grain", min_value=1, max_value=LONGEST_MM)
    width_mm = forms.IntegerField(
        label="Width", required=False, min_value=1, max_value=LONGEST_MM, help_text="empty for a length"
    )
    lies = forms.CharField(label="It lies", required=False, max_length=60, help_text="rack, left; loft")


class NewOffcutForm(OffcutSizes, TokenForm):
    material = forms.ModelChoiceField(label="Of", queryset=Material.objects.none(), empty_label=None)
    small_too = forms.BooleanField(label="Keep it anyway, though it is small", required=False)

    field_order = ("material", "length_mm", "width_mm", "lies", "small_too")

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        rows = Material.objects.filter(withdrawn=False, form__in=("sheet", "length"))
        self.fields["material"].queryset = rows


class VersionedForm(KeptForm):
    """A step of one offcut, as the page showed it."""

    version = forms.IntegerField(widget=forms.HiddenInput, min_value=0, required=False)

    def refuse(self, error: Refused) -> None:
        super().refuse(error)
        self.is_stale = isinstance(error, Stale)

    def show_beside(self, row: Offcut) -> None:
        """What was typed, now against the offcut as it is."""
        self.data = self.data.copy()
        self.data["version"] = row.version


class CorrectForm(OffcutSizes, VersionedForm):
    why = forms.CharField(label="Why", required=False, max_length=200)

    @staticmethod
    def of(row: Offcut) -> CorrectForm:
        names = ("length_mm", "width_mm", "lies", "version")
        return CorrectForm(initial={name: getattr(row, name) for name in names})


class UseForm(VersionedForm):
    build = forms.ModelChoiceField(label="Used for", queryset=Build.objects.none(), required=False)

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["build"].queryset = Build.objects.current()
        self.fields["build"].empty_label = "something else"


class GoneForm(VersionedForm):
    why = forms.CharField(label="Why", required=False, max_length=200)
