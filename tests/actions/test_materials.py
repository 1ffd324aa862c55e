"""Suppliers, materials and places."""

from __future__ import annotations

from decimal import Decimal

import pytest

from builds.actions import materials, places
from builds.actions.checked import edition
from builds.actions.door import Refused, Stale
from builds.models import Journal, Material, Place, Shop, Supplier
from tests.cast import NOW

PLY = {"form": "sheet", "unit": "piece", "length_mm": 2440, "width_mm": 1220, "price": Decimal("62.50")}


def test_a_supplier_and_a_material_are_kept_with_words_in_the_journal(shop, owner):
    yard = materials.add_supplier(name="Sallow Timber", lead_days=5, now=NOW, by=owner)

    ply = materials.add_material(name="Birch ply 12", supplier=yard, now=NOW, by=owner, **PLY)

    kept = Material.objects.get()
    assert (kept.key, kept.supplier, kept.price) == ("birch_ply_12", yard, Decimal("62.50"))
    assert ply == kept
    assert [j.what for j in Journal.objects.all()] == [
        "Added the material Birch ply 12",
        "Added the supplier Sallow Timber",
    ]


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"name": ""}, "name"),
        ({"name": "Birch ply 12"}, "name"),
        ({"unit": "kg"}, "unit"),
        ({"form": "liquid", "unit": "m"}, "unit"),
        ({"length_mm": None}, "length_mm"),
        ({"width_mm": 0}, "width_mm"),
        ({"length_mm": 244000}, "length_mm"),
        ({"form": "length", "unit": "piece", "length_mm": None}, "length_mm"),
        ({"pack": Decimal(0)}, "pack"),
        ({"price": Decimal("-1")}, "price"),
        ({"waste_percent": Decimal("-1")}, "waste_percent"),
        ({"lead_days": 400}, "lead_days"),
        ({"spread_m2_per_litre": Decimal(10)}, "spread_m2_per_litre"),
        ({"form": "liquid", "unit": "litre", "spread_m2_per_litre": Decimal(0)}, "spread_m2_per_litre"),
    ],
)
def test_a_material_that_can_not_be_is_refused_at_the_field(shop, owner, fields, field):
    materials.add_material(name="Birch ply 12", now=NOW, by=owner, **PLY)

    with pytest.raises(Refused) as refused:
        materials.add_material(now=NOW, by=owner, **({"name": "Poplar ply 9"} | PLY | fields))

    assert refused.value.field == field
    assert Material.objects.count() == 1


def test_what_is_sold_off_a_roll_has_no_length(shop, owner):
    hose = materials.add_material(
        name="Hose 12", form="length", unit="m", pack=Decimal(25), price=Decimal(40), now=NOW, by=owner
    )

    assert (hose.pack, hose.length_mm) == (Decimal(25), None)


def test_a_material_changed_by_somebody_else_is_not_overwritten(shop, owner):
    ply = materials.add_material(name="Birch ply 12", now=NOW, by=owner, **PLY)
    seen = edition(Material.objects.get())
    materials.change_material(material=ply, fields={"price": Decimal(70)}, now=NOW, by=owner, seen=seen)

    with pytest.raises(Stale):
        materials.change_material(material=ply, fields={"price": Decimal(60)}, now=NOW, by=owner, seen=seen)

    assert Material.objects.get().price == Decimal("70.00")


def test_a_withdrawn_material_comes_back(shop, owner):
    ply = materials.add_material(name="Birch ply 12", now=NOW, by=owner, **PLY)

    materials.withdraw_material(material=ply, now=NOW, by=owner)
    assert Material.objects.get().withdrawn

    materials.withdraw_material(material=ply, withdrawn=False, now=NOW, by=owner)
    assert not Material.objects.get().withdrawn


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"name": "sallow timber"}, "name"),
        ({"name": "Alder", "email": "nowhere"}, "email"),
        ({"name": "Alder", "lead_days": -1}, "lead_days"),
        ({"name": "Alder", "minimum_order": Decimal(-5)}, "minimum_order"),
    ],
)
def test_a_supplier_that_can_not_be_is_refused_at_the_field(shop, owner, fields, field):
    materials.add_supplier(name="Sallow Timber", now=NOW, by=owner)

    with pytest.raises(Refused) as refused:
        materials.add_supplier(now=NOW, by=owner, **fields)

    assert refused.value.field == field
    assert Supplier.objects.count() == 1


def test_a_place_holds_more_and_the_plan_is_asked_for(shop, owner):
    before = Shop.objects.get().revision

    places.change_place(place=Place.objects.get(key="spray"), fields={"room": 2}, now=NOW, by=owner)

    assert Place.objects.get(key="spray").room == 2
    assert Shop.objects.get().revision > before


@pytest.mark.parametrize("room", [0, 100, -1])
def test_a_place_that_holds_nothing_is_refused(shop, owner, room):
    with pytest.raises(Refused) as refused:
        places.change_place(place=Place.objects.get(key="spray"), fields={"room": room}, now=NOW, by=owner)

    assert refused.value.field == "room"


def test_a_place_of_another_name_is_added(shop, owner):
    places.add_place(name="Sewing table", fields={"room": 1}, now=NOW, by=owner)

    assert Place.objects.get(key="sewing_table").room == 1
    with pytest.raises(Refused):
        places.add_place(name="Sewing table", now=NOW, by=owner)
