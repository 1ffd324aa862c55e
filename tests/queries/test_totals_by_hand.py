"""A small van's material, worked out by hand beside each figure: one seat box, one kitchen, a floor.

The van's load space is 3.0 x 1.8 m. Rules, packs and prices are the standard library's, which are the
trade's (common practice, no source) and invented; the arithmetic here is done apart from the program.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from builds.actions.builds import NewBuild, start_build
from builds.actions.composing import InstallationChoice, UnitChoice
from builds.actions.cutting import lay_out
from builds.actions.library import load_standard_library
from builds.models import Build, Material, Supplier
from builds.queries.material_totals import material_totals


@pytest.fixture
def build(shop, joiner, owner, now) -> Build:
    load_standard_library(now=now)
    small = NewBuild(
        name="Heron",
        customer_name="The Ashdowns",
        arrives_on=date(2027, 3, 8),
        van={"load_length_mm": 3000, "load_width_mm": 1800, "load_height_mm": 1900},
        units=(
            UnitChoice("seat_box", "Seat box", 1000, 550, 480),
            UnitChoice("kitchen", "Kitchen", 1200, 500, 900),
        ),
        installations=(InstallationChoice("floor"),),
    )
    return start_build(new=small, now=now, by=owner)


def line(totals, key):
    return next(row for row in totals.lines if row.key == key)


@pytest.mark.parametrize(
    ("key", "needed", "with_waste", "packs", "net", "kg"),
    [
        # three rows of 3.0 m = 9.0 m; a tenth more 9.9 m; 9.9 / 2.4 = 4.125, so 5 lengths of £5.80;
        # 9.0 x 0.396 kg = 3.564 kg
        ("batten", "9 m", "9.9 m", 5, "29.00", "3.564"),
        # 3.0 x 1.8 = 5.4 m²; 8 % more 5.832 m²; / 1.44 = 4.05, so 5 packs of £12.30; 5.4 x 0.72 = 3.888 kg
        ("floor_foam", "5.4 m²", "5.83 m²", 5, "61.50", "3.888"),
        # 5.4 m² and a tenth 5.94 m², less than one roll of 8 m² at £96; 5.4 x 2.9 = 15.66 kg
        ("vinyl", "5.4 m²", "5.94 m²", 1, "96.00", "15.66"),
        # seat box: front and back 2 x 1.0 x 0.468, ends 2 x 0.526 x 0.468, bottom 0.976 x 0.526, divider
        # 0.526 x 0.456, lid 1.0 x 0.560: 2.742 m² of board, both faces 5.483 m², one coat at 10 m²/l 0.548 l;
        # kitchen: 6.316 m² of boards of 4, 9 and 15 mm, 12.63 m², 1.263 l; together 1.811 l, a tenth more
        # 0.603 + 1.389 = 1.992 l, one tin of 2.5 l
        ("primer", "1.81 l", "1.99 l", 1, "38.50", None),
        # twice that for two coats: 1.097 + 2.526 = 3.623 l; a tenth more 3.986 l; / 2.5 = 1.6, so 2 tins
        ("topcoat", "3.62 l", "3.99 l", 2, "104.00", None),
        # along the wall 1.2 m and round a sink 1.6 m: a bead of 2.8 m, 5 x 5 mm = 25 mm², 70 ml; what
        # stays in the nozzle 15 %: 80.5, kept as 81 ml; one cartridge of 290 ml; 0.070 l x 1.4 = 0.098 kg
        ("sealant", "70 ml", "81 ml", 1, "7.60", "0.098"),
        # twelve a square metre of board: 2.742 and 6.316 m² make 32.9 + 75.8 = 108.7; 5 % more 114.1: one
        # box of 200
        ("screws", "109", "115", 1, "11.50", None),
        # two drawers, a pair of runners each: 2 x £18.90; 2 x 1.1 kg
        ("runners", "2", "2", 2, "37.80", "2.2"),
    ],
)
def test_each_total_is_what_the_hand_finds(build, shop, now, key, needed, with_waste, packs, net, kg):
    row = line(material_totals([build], now, shop=shop), key)

    assert (row.needed, row.with_waste, row.packs, row.price.net) == (needed, with_waste, packs, Decimal(net))
    assert kg is None or row.mass_kg == Decimal(kg)


def test_sheets_are_counted_by_layout_and_not_by_area(build, shop, owner, now):
    """Seat box 2.742 m², 15 % more 3.153 m²: by area 1.06, so with the floor's 5.4 x 1.15 = 6.21 m² it takes
    (3.153 + 6.21) / 2.977 = 3.1, 4 sheets. Laid out, the seat box takes two whole
    sheets, 5.954 m². So (5.954 + 6.21) / 2.977 = 4.09, 5 sheets of £59.90. Mass, each need to the
    hundredth: (2.742 + 5.4) m² x 0.012 m x 695 kg/m³ = 67.90 kg.
    """
    before = line(material_totals([build], now, shop=shop), "ply12")

    lay_out(material=Material.objects.get(key="ply12"), builds=[build], now=now, by=owner)

    after = line(material_totals([build], now, shop=shop), "ply12")
    assert (before.packs, after.packs, after.price.net) == (4, 5, Decimal("299.50"))
    assert [need.rule for need in after.needs] == ["2 sheets by layout", "floor area"]
    assert after.mass_kg == pytest.approx(Decimal("67.90"), abs=Decimal("0.02"))


def test_a_low_stock_and_least_packs_are_ordered_too(build, shop, now):
    """Sealant: 81 ml for the kitchen, and the empty stock is to hold 580 ml: 661 / 290 = 2.28, so 3.
    Runners come in fives at least: 2 are needed, 5 ordered at £18.90, £94.50; of an order of £100 at least
    from that supplier £94.50 + one box of screws at £11.50 = £106 lacks nothing, of one of £120 £14.
    """
    Material.objects.filter(key="sealant").update(reorder_level=Decimal("0.58"))
    Material.objects.filter(key="runners").update(least_packs=5)
    Supplier.objects.filter(name="Ironside Fittings").update(minimum_order=Decimal(120))

    totals = material_totals([build], now, shop=shop, with_stock=True)

    assert line(totals, "sealant").packs_left == 3
    assert line(totals, "runners").price_left.net == Decimal("94.50")
    ironside = next(s for s in totals.suppliers if s.name == "Ironside Fittings")
    assert (ironside.price_left.net, ironside.below_minimum) == (Decimal("106.00"), Decimal("14.00"))


@pytest.mark.parametrize(("level", "vat"), [("line", "6.03"), ("invoice", "6.02")])
def test_vat_is_half_up_at_the_level_that_the_shop_keeps(build, shop, now, level, vat):
    """One supplier, three lines of £10.03 at 20 %: 2.006 each is 2.01, three 6.03; 30.09 at 20 % is 6.018."""
    shop.vat_level = level
    build.needs.exclude(material__key__in=("batten", "ply4", "ply9")).delete()
    build.needs.update(quantity=1, waste_percent=0)
    Material.objects.filter(key__in=("batten", "ply4", "ply9")).update(price=Decimal("10.03"), vat_percent=20)

    price = material_totals([build], now, shop=shop).price

    assert (price.net, price.vat) == (Decimal("30.09"), Decimal(vat))
