"""The forms of places, suppliers and materials."""

from __future__ import annotations

from django import forms

from builds.actions.materials import MATERIAL_FIELDS, SUPPLIER_FIELDS
from builds.actions.places import PLACE_FIELDS
from builds.models import Material, Place, Supplier

from .keeping import KeptForm, KeptRecordForm


class PlaceForm(KeptRecordForm):
    groups = (("How the plan sees it", ("counts", "per_van", "holds_bay", "van_position")),)

    class Meta:
        model = Place
        fields = PLACE_FIELDS
        help_texts = {
            "room": "empty where there is no limit",
            "counts": "whether it is so many jobs or so many people at once",
            "van_position": "where a van has to stand for work here; changing it costs a move",
            "caution": "shown with the work done here",
        }
        widgets = {"caution": forms.Textarea({"rows": 3})}

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.order_fields(["name", "room", "caution"])


class SupplierForm(KeptRecordForm):
    units = {"lead_days": "days"}

    class Meta:
        model = Supplier
        fields = SUPPLIER_FIELDS
        help_texts = {"minimum_order": "what an order must come to, without VAT; 0 for no least order"}
        widgets = {"notes": forms.Textarea({"rows": 3})}


class MaterialForm(KeptRecordForm):
    groups = (
        ("What it is", ("name", "form", "unit")),
        (
            "How it is bought",
            ("pack", "price", "vat_percent", "supplier", "code", "lead_days", "least_packs"),
        ),
        ("What the shop keeps of it", ("reorder_level", "top_up_to")),
        (
            "Sizes and mass",
            ("length_mm", "width_mm", "thickness_mm", "density_kg_m3", "unit_mass_kg", "thread"),
        ),
        (
            "How much is used",
            ("spread_m2_per_litre", "coats", "expands", "waste_percent", "rule", "basis"),
        ),
    )
    units = {
        "lead_days": "days",
        "vat_percent": "%",
        "waste_percent": "%",
        "length_mm": "mm",
        "width_mm": "mm",
        "thickness_mm": "mm",
        "density_kg_m3": "kg/m³",
        "unit_mass_kg": "kg",
        "spread_m2_per_litre": "m²/litre",
        "expands": "times",
    }

    class Meta:
        model = Material
        fields = MATERIAL_FIELDS
        labels = {
            "form": "Bought as",
            "unit": "Counted in",
            "length_mm": "Length",
            "width_mm": "Width",
            "thickness_mm": "Thickness",
            "density_kg_m3": "Density",
            "unit_mass_kg": "Mass of one unit",
            "thread": "Thread it is joined by",
            "vat_percent": "VAT rate",
            "spread_m2_per_litre": "Spread of one coat",
            "code": "Their number for it",
            "reorder_level": "Order more below",
            "top_up_to": "Then order up to",
            "expands": "Swells to",
            "waste_percent": "Waste allowed",
            "basis": "Where the figures are from",
        }
        help_texts = {
            "pack": "how many of its units come in one pack",
            "reorder_level": "in its own unit, counting what is free; empty for nothing kept",
            "top_up_to": "empty for just the level",
            "thread": "of a fitting; empty for none, and for what joins two sizes",
            "expands": "foam: how many times its volume it fills",
            "lead_days": "empty for the supplier’s usual lead time",
            "basis": "a data sheet, a supplier, or common practice",
        }

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        now = self.instance.supplier_id
        offered = Supplier.objects.filter(withdrawn=False)
        self.fields["supplier"].queryset = (offered | Supplier.objects.filter(pk=now)) if now else offered
        self.fields["supplier"].empty_label = "–"


class SearchForm(forms.Form):
    """What to look for; anything that is no search is none."""

    q = forms.CharField(required=False, max_length=80, strip=True)
    withdrawn = forms.BooleanField(required=False)

    @property
    def words(self) -> str:
        return self.cleaned_data.get("q", "") if self.is_valid() else ""


class WithdrawForm(KeptForm):
    withdrawn = forms.ChoiceField(choices=[("yes", "yes"), ("no", "no")])

    @property
    def is_withdrawn(self) -> bool:
        return self.cleaned_data["withdrawn"] == "yes"
