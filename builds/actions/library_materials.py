"""Takes the library's suppliers, materials and standard needs into the shop. Call inside a write."""

from __future__ import annotations

from decimal import Decimal

from builds.library.reading import Row, rows
from builds.models import Material, StandardNeed, Supplier


def add_materials() -> int:
    """Adds what the shop does not have yet; needs come only with a material that is new."""
    known = set(Supplier.objects.values_list("name", flat=True))
    suppliers = [_supplier(row) for row in rows("suppliers") if row.text("name") not in known]
    Supplier.objects.bulk_create(suppliers)
    by_name = {s.name: s for s in Supplier.objects.all()}
    have = set(Material.objects.values_list("key", flat=True))
    wanted = [(n, row) for n, row in enumerate(rows("materials")) if row.text("key") not in have]
    materials = Material.objects.bulk_create([_material(row, by_name, n) for n, row in wanted])
    fresh = {m.key for m in materials}
    needs = [(n, row) for n, row in enumerate(rows("needs")) if row.text("material") in fresh]
    StandardNeed.objects.bulk_create([_need(row, n) for n, row in needs])
    return len(suppliers) + len(materials) + len(needs)


def _supplier(row: Row) -> Supplier:
    return Supplier(
        name=row.text("name"),
        lead_days=row.whole("lead_days"),
        minimum_order=Decimal(row.text("minimum_order")),
    )


def _material(row: Row, suppliers: dict[str, Supplier], order: int) -> Material:
    def number(column: str) -> Decimal | None:
        return Decimal(row.text(column)) if row.text(column) else None

    return Material(
        key=row.text("key", needed=True),
        name=row.text("name", needed=True),
        form=row.one_of("form", tuple(f for f, _ in Material.FORMS)),
        unit=row.one_of("unit", tuple(u for u, _ in Material.UNITS)),
        pack=Decimal(row.text("pack")),
        price=Decimal(row.text("price")),
        supplier=suppliers[row.text("supplier")],
        lead_days=row.whole_or_none("lead_days"),
        length_mm=row.whole_or_none("length_mm"),
        width_mm=row.whole_or_none("width_mm"),
        thickness_mm=number("thickness_mm"),
        density_kg_m3=row.whole_or_none("density_kg_m3"),
        unit_mass_kg=number("unit_mass_kg"),
        spread_m2_per_litre=number("spread_m2_per_litre"),
        coats=row.whole_or_none("coats"),
        waste_percent=Decimal(row.text("waste_percent")),
        rule=row.text("rule"),
        basis=row.text("basis")[:120],
        order=order,
    )


def _need(row: Row, order: int) -> StandardNeed:
    return StandardNeed(
        owner=row.text("owner"),
        material_id=row.text("material"),
        quantity=Decimal(row.text("quantity")),
        per=row.text("per"),
        used_in=row.text("used_in"),
        rule=row.text("rule"),
        basis=row.text("basis"),
        order=order,
    )
