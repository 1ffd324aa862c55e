"""The forms of the shop itself: settings, closed days."""

from __future__ import annotations

import re
from functools import lru_cache
from zoneinfo import available_timezones

from django import forms
from holidays import country_holidays, list_supported_countries
from holidays.registry import COUNTRIES

from builds.actions.shop import SETTINGS
from builds.models import Shop

from .keeping import DayInput, KeptForm, KeptRecordForm

Choices = list[tuple[str, str]]


@lru_cache(maxsize=1)
def country_choices() -> Choices:
    """Countries whose public holidays are known, by name; names as the `holidays` library has them."""
    known = list_supported_countries(include_aliases=False)
    named = {names[1]: re.sub(r"(?<=[a-z])(?=[A-Z])", " ", names[0]) for names in COUNTRIES.values()}
    return sorted(((code, named.get(code, code)) for code in known), key=lambda choice: choice[1])


@lru_cache(maxsize=32)
def subdivision_choices(country: str) -> Choices:
    """Parts of a country with holidays of their own, after "all of it"."""
    known = list_supported_countries(include_aliases=False).get(country, [])
    named: dict[str, str] = {}
    if known:
        for name, code in country_holidays(country).subdivisions_aliases.items():
            named.setdefault(code, name)
    return [("", "all of it"), *((code, named.get(code, code)) for code in known)]


@lru_cache(maxsize=1)
def zone_choices() -> Choices:
    zones = (z for z in available_timezones() if "/" in z and not z.startswith(("Etc/", "posix", "SystemV")))
    return [(zone, zone.replace("_", " ")) for zone in sorted(zones)]


class ShopForm(KeptRecordForm):
    zone = forms.ChoiceField(label="Time zone")
    country = forms.ChoiceField(label="Country of the public holidays")
    subdivision = forms.ChoiceField(label="Part of the country", required=False)

    groups = (
        ("The plan", ("plannable_share", "move_minutes", "warmth")),
        ("Public holidays", ("country", "subdivision")),
        ("Money and orders", ("currency", "vat_percent", "vat_level", "order_margin_days")),
        (
            "Offcuts worth keeping",
            ("offcut_least_length_mm", "offcut_least_width_mm", "offcut_least_run_mm"),
        ),
    )
    units = {
        "move_minutes": "min",
        "vat_percent": "%",
        "order_margin_days": "days",
        "offcut_least_length_mm": "mm",
        "offcut_least_width_mm": "mm",
        "offcut_least_run_mm": "mm",
    }

    class Meta:
        model = Shop
        fields = SETTINGS
        labels = {
            "offcut_least_length_mm": "Of a sheet, longer side",
            "offcut_least_width_mm": "Of a sheet, shorter side",
            "offcut_least_run_mm": "Of a length",
        }
        help_texts = {
            "plannable_share": "0.30 to 1.00. With 0.80, eight hours of ten go into planned work.",
            "move_minutes": "to take a van from the ramps to its bay, or out and in again",
            "warmth": "a cold shop makes drying and curing take half as long again",
            "offcut_least_length_mm": "from this size on; smaller rests are thrown out",
            "order_margin_days": "how long before its first use a material should be here",
        }

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["zone"].choices = zone_choices()
        self.fields["country"].choices = country_choices()
        self.fields["subdivision"].choices = subdivision_choices(str(self["country"].value() or ""))
        self.order_fields(["name", "zone"])


class CloseForm(KeptForm):
    date = forms.DateField(label="Closed on", widget=DayInput)
    until = forms.DateField(label="Until", required=False, widget=DayInput)
    reason = forms.CharField(label="Why", required=False, max_length=80)
