"""The forms of cutting: which builds together, how long to look for a better layout, the saw."""

from __future__ import annotations

from decimal import Decimal

from django import forms

from builds.models import Build, Material, Shop

SEARCH_TIMES = ((10, "10 seconds"), (60, "1 minute"), (300, "5 minutes"))


class TogetherForm(forms.Form):
    """Builds to lay out together."""

    builds = forms.ModelMultipleChoiceField(
        label="Builds", queryset=Build.objects.none(), widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args, builds, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["builds"].queryset = builds
        self.fields["builds"].error_messages["required"] = "Choose at least one build."


class SearchForm(forms.Form):
    """How long to look for a better layout."""

    seconds = forms.TypedChoiceField(label="Look for", choices=SEARCH_TIMES, coerce=int, initial=60)


class RunForm(forms.Form):
    """A run to list; its token keeps a second press from listing it twice."""

    material = forms.ModelChoiceField(
        label="Material", queryset=Material.objects.filter(withdrawn=False, form="length"), empty_label=None
    )
    name = forms.CharField(label="What it is for", max_length=80)
    length = forms.CharField(label="Length of each", max_length=20, help_text="Millimetres, or 2.4 m.")
    count = forms.IntegerField(label="How many", min_value=1, max_value=999)
    one_piece = forms.BooleanField(label="In one piece, never joined", required=False)
    token = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, label_suffix="", **kwargs)


class SawForm(forms.Form):
    """The saw cut and the trim in millimetres; refused by the action when absurd."""

    kerf = forms.DecimalField(label="The saw cut takes", max_digits=4, decimal_places=1)
    trim = forms.DecimalField(label="Trimmed off each edge of a sheet", max_digits=4, decimal_places=1)

    @classmethod
    def of(cls, shop: Shop) -> SawForm:
        tenth = Decimal("0.1")
        return cls(initial={"kerf": shop.saw_kerf_tenths * tenth, "trim": shop.sheet_trim_tenths * tenth})

    def tenths(self) -> dict[str, int]:
        return {
            "kerf_tenths": int(self.cleaned_data["kerf"] * 10),
            "trim_tenths": int(self.cleaned_data["trim"] * 10),
        }
