"""What is bought, and from whom."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal

from builds.actions.checked import check_edition, free_key, fresh, next_order, put_fields
from builds.actions.door import Refused, note_in_journal, write
from builds.actions.withdrawing import set_withdrawn
from builds.models import Material, Supplier, User

SUPPLIER_FIELDS = ("name", "email", "phone", "lead_days", "minimum_order", "notes")
MATERIAL_FIELDS = (
    "name",
    "form",
    "unit",
    "pack",
    "price",
    "vat_percent",
    "supplier",
    "lead_days",
    "code",
    "least_packs",
    "reorder_level",
    "top_up_to",
    "thread",
    "length_mm",
    "width_mm",
    "thickness_mm",
    "density_kg_m3",
    "unit_mass_kg",
    "spread_m2_per_litre",
    "coats",
    "expands",
    "waste_percent",
    "rule",
    "basis",
)
UNITS_OF_FORM = {
    "sheet": ("piece", "m**2"),
    "length": ("m", "piece"),
    "area": ("m**2",),
    "liquid": ("litre", "ml"),
    "cartridge": ("ml", "litre", "piece"),
    "mass": ("kg",),
    "piece": ("piece",),
}
"""In which units each form of material can be counted."""

NEEDED_SIZES = {
    ("sheet", "piece"): ("length_mm", "width_mm"),
    ("sheet", "m**2"): ("length_mm", "width_mm"),
    ("length", "piece"): ("length_mm",),
}
"""Sizes without which it can't be counted; what is sold by the metre, off a roll, needs none."""

MOST_LEAD_DAYS = 365
LARGEST_MM = 20000


def add_supplier(
    *,
    name: str,
    email: str = "",
    phone: str = "",
    lead_days: int = 7,
    minimum_order: Decimal = Decimal(0),
    notes: str = "",
    now: datetime,
    by: User | None,
) -> Supplier:
    """Adds a supplier; refused when there is one of that name."""
    fields = {
        "name": name,
        "email": email,
        "phone": phone,
        "lead_days": lead_days,
        "minimum_order": minimum_order,
        "notes": notes,
    }
    with write(plan=False):
        supplier = Supplier()
        _put_supplier(supplier, fields)
        note_in_journal(f"Added the supplier {supplier.name}", now=now, by=by)
    return supplier


def change_supplier(
    *,
    supplier: Supplier,
    fields: Mapping[str, object],
    now: datetime,
    by: User | None,
    seen: str | None = None,
) -> Supplier:
    """Changes a supplier's fields by name (see SUPPLIER_FIELDS)."""
    with write(plan=False):
        row = fresh(Supplier, supplier)
        check_edition(row.name, seen, row)
        _put_supplier(row, fields)
        note_in_journal(f"Changed the supplier {row.name}", now=now, by=by)
    return row


def _put_supplier(supplier: Supplier, fields: Mapping[str, object]) -> None:
    put_fields(supplier, fields, SUPPLIER_FIELDS)
    if not supplier.name:
        raise Refused("A supplier needs a name.", field="name")
    if Supplier.objects.filter(name__iexact=supplier.name).exclude(pk=supplier.pk).exists():
        raise Refused("There is a supplier of that name.", field="name")
    _check_lead(supplier.lead_days)
    supplier.save()


def _check_lead(days: int | None) -> None:
    if days is not None and not 0 <= days <= MOST_LEAD_DAYS:
        raise Refused(f"A lead time is 0 to {MOST_LEAD_DAYS} days.", field="lead_days")


def withdraw_supplier(
    *, supplier: Supplier, withdrawn: bool = True, now: datetime, by: User | None
) -> Supplier:
    """Takes a supplier off the lists to choose from, or puts it back; nothing that names it changes."""
    return _withdraw(Supplier, supplier, withdrawn, "supplier", now, by)


def withdraw_material(
    *, material: Material, withdrawn: bool = True, now: datetime, by: User | None
) -> Material:
    """Takes a material off the lists to choose from, or puts it back; what builds need of it stays."""
    return _withdraw(Material, material, withdrawn, "material", now, by)


def _withdraw(model, record, withdrawn: bool, noun: str, now: datetime, by: User | None):
    with write(plan=False):
        row = fresh(model, record)
        set_withdrawn(row, withdrawn, noun, now=now, by=by)
    return row


def add_material(*, name: str, key: str = "", now: datetime, by: User | None, **fields: object) -> Material:
    """Adds a material; further fields by name (see MATERIAL_FIELDS). `key` is made from the name.

    `unit` is the Pint unit of its quantities, `pack` how many of them one pack holds, `price` what a pack
    costs without VAT. Refused where form and unit, or form and sizes, do not go together.
    """
    with write(plan=False):
        material = Material(order=next_order(Material))
        put_fields(material, {"key": key or free_key(Material, name)}, ("key",))
        if Material.objects.filter(key=material.key).exists():
            raise Refused("There is a material of that name.", field="name")
        _put_material(material, {"name": name, **fields})
        note_in_journal(f"Added the material {material.name}", now=now, by=by)
    return material


def change_material(
    *,
    material: Material,
    fields: Mapping[str, object],
    now: datetime,
    by: User | None,
    seen: str | None = None,
) -> Material:
    """Changes a material's fields by name (see MATERIAL_FIELDS)."""
    with write(plan=False):
        row = fresh(Material, material)
        check_edition(row.name, seen, row)
        _put_material(row, fields)
        note_in_journal(f"Changed the material {row.name}", now=now, by=by)
    return row


def _put_material(material: Material, fields: Mapping[str, object]) -> None:
    put_fields(material, fields, MATERIAL_FIELDS)
    if not material.name:
        raise Refused("A material needs a name.", field="name")
    if Material.objects.filter(name__iexact=material.name).exclude(pk=material.pk).exists():
        raise Refused("There is a material of that name.", field="name")
    _check_form(material)
    _check_figures(material)
    material.save()


def _check_form(material: Material) -> None:
    if material.unit not in UNITS_OF_FORM[material.form]:
        named = dict(Material.UNITS)
        units = " or ".join(named[unit] for unit in UNITS_OF_FORM[material.form])
        raise Refused(f"{material.get_form_display().capitalize()} are counted in {units}.", field="unit")
    for field in NEEDED_SIZES.get((material.form, material.unit), ()):
        if not getattr(material, field):
            raise Refused("Its size is needed to count how many are bought.", field=field)
    if material.spread_m2_per_litre is not None and material.form not in ("liquid", "cartridge"):
        raise Refused("Only what is spread has a spread.", field="spread_m2_per_litre")


def _check_figures(material: Material) -> None:
    _check_lead(material.lead_days)
    for field in ("length_mm", "width_mm", "thickness_mm", "density_kg_m3", "unit_mass_kg", "coats"):
        value = getattr(material, field)
        if value is not None and value <= 0:
            raise Refused("It must be more than nothing, or stay empty.", field=field)
    for field in ("length_mm", "width_mm"):
        if (getattr(material, field) or 0) > LARGEST_MM:
            raise Refused(f"That is longer than {LARGEST_MM // 1000} m. Is it in mm?", field=field)
    if material.spread_m2_per_litre is not None and material.spread_m2_per_litre <= 0:
        raise Refused("It must be more than nothing, or stay empty.", field="spread_m2_per_litre")
    if not 0 <= material.waste_percent < 100:
        raise Refused("Waste is 0 to under 100 %.", field="waste_percent")
    if not 0 <= material.vat_percent < 100:
        raise Refused("VAT is 0 to under 100 %.", field="vat_percent")
