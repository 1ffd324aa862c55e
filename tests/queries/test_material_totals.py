"""Material totals: units never mix, every total opens to its lines, dates come from the plan."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from builds.actions.builds import NewBuild, start_build
from builds.actions.composing import InstallationChoice, UnitChoice, add_to_build, take_out
from builds.actions.door import Refused
from builds.actions.library import load_standard_library
from builds.actions.needs import add_need, change_need, reckon_needs, remove_need, set_customer_supplies
from builds.actions.planning import replan
from builds.models import Build, Material, Need, Part, Shop, Supplier
from builds.queries.material_totals import material_totals
from builds.queries.quantities import UnitsDiffer, quantity, total, typed_quantity
from tests import cast


@pytest.fixture
def build(shop, joiner, owner, now) -> Build:
    load_standard_library(now=now)
    return start_build(new=new_build("Heron"), now=now, by=owner)


def new_build(name: str) -> NewBuild:
    return NewBuild(
        name=name,
        customer_name="The Ashdowns",
        arrives_on=date(2027, 3, 8),
        van={"load_length_mm": 3000, "load_width_mm": 1800, "load_height_mm": 1900},
        units=(UnitChoice("seat_box", "Seat box", 1000, 550, 480),),
        installations=(InstallationChoice("floor"),),
    )


def line(totals, key: str):
    return next((row for row in totals.lines if row.key == key), None)


SEAT_BOX_M2 = (
    2 * 1.0 * 0.468  # front and back, 12 mm under the lid
    + 2 * 0.526 * 0.468  # ends between them
    + 0.976 * 0.526  # bottom
    + 0.526 * 0.456  # the divider of its two bays
    + 1.0 * 0.560  # the lid with 10 mm to scribe at the wall
)


def test_boards_are_reckoned_from_parts_and_from_the_van(build, shop, now):
    totals = material_totals([build], now, shop=shop)

    ply = line(totals, "ply12")
    need = Need.objects.get(material__key="ply12", unit__isnull=False)
    assert [n.owner for n in ply.needs] == ["Seat box", "Floor"]
    assert need.quantity == Decimal(str(round(SEAT_BOX_M2, 3)))
    assert need.rule == "its parts, as they are cut"
    assert ply.needed == "8.14 m²"


def test_a_unit_without_parts_is_reckoned_by_its_outer_box(build, now, owner):
    Part.objects.all().delete()

    reckon_needs(build=build, now=now, by=owner)

    box = 2 * (1.0 * 0.55 + 1.0 * 0.48 + 0.55 * 0.48) * 0.75
    need = Need.objects.get(material__key="ply12", unit__isnull=False)
    assert need.quantity == Decimal(str(round(box, 3)))
    assert need.rule == "board area of the unit"


def test_a_quantity_the_owner_put_to_a_board_is_not_counted_beside_its_parts(build, now, owner):
    need = Need.objects.get(material__key="ply12", unit__isnull=False)
    change_need(need=need, quantity="4", task=need.task, customer_supplies=False, now=now, by=owner)

    reckon_needs(build=build, now=now, by=owner)

    rows = Need.objects.filter(material__key="ply12", unit__isnull=False)
    assert [row.quantity for row in rows] == [Decimal(4)]


def test_paint_is_area_times_coats_over_the_spreading_rate(build):
    wanted = Decimal(str(round(SEAT_BOX_M2 * 2 * 2 / 10, 3)))

    assert Need.objects.get(material__key="topcoat").quantity == wanted


def test_several_builds_add_up(build, shop, owner, now):
    other = start_build(new=new_build("Teal"), now=now, by=owner)

    one = line(material_totals([build], now, shop=shop), "ply12")
    both = line(material_totals([build, other], now, shop=shop), "ply12")

    assert both.mass_kg == pytest.approx(2 * one.mass_kg, abs=Decimal("0.02"))
    assert {n.build for n in both.needs} == {"Heron", "Teal"}


def test_the_order_day_is_first_use_less_lead_and_margin(build, shop, now):
    task = build.tasks.get(standard="vinyl")
    task.links_in.all().delete()
    build.tasks.filter(pk=task.pk).update(crew=1)
    replan(now=now)

    vinyl = line(material_totals([build], now, shop=shop), "vinyl")

    assert vinyl.order_by == vinyl.first_use - timedelta(days=10 + shop.order_margin_days)


@pytest.mark.parametrize("days_more", range(7))
def test_an_order_is_due_on_a_day_on_which_somebody_is_there_to_make_it(days_more, build, shop, now):
    task = build.tasks.get(standard="vinyl")
    task.links_in.all().delete()
    build.tasks.filter(pk=task.pk).update(crew=1)
    replan(now=now)
    Shop.objects.update(order_margin_days=shop.order_margin_days + days_more)
    shop.refresh_from_db()

    vinyl = line(material_totals([build], now, shop=shop), "vinyl")

    wanted = vinyl.first_use - timedelta(days=10 + shop.order_margin_days)
    weekdays = [day for n in range(3) if (day := wanted - timedelta(days=n)).weekday() < 5]
    assert vinyl.order_by == weekdays[0]


def test_totals_ask_as_often_for_three_builds_as_for_one(build, shop, owner, now):
    others = [start_build(new=new_build(name), now=now, by=owner) for name in ("Teal", "Kestrel")]
    with CaptureQueriesContext(connection) as for_one:
        material_totals([build], now, shop=shop)

    with CaptureQueriesContext(connection) as for_three:
        material_totals([build, *others], now, shop=shop)

    assert len(for_three) == len(for_one)


def test_what_the_customer_brings_has_no_price(build, shop, owner, now):
    before = material_totals([build], now, shop=shop).price.net
    need = Need.objects.get(material__key="vinyl")

    set_customer_supplies(need=need, yes=True, now=now, by=owner)

    after = material_totals([build], now, shop=shop)
    assert before - after.price.net == Decimal("96.00")
    assert [row.key for row in after.by_customer] == ["vinyl"]


def test_reckoning_again_changes_nothing_and_keeps_what_was_typed(build, owner, now):
    screws = Material.objects.get(key="screws")
    add_need(build=build, material=screws, quantity="40", now=now, by=owner)
    before = list(Need.objects.order_by("pk").values_list("pk", "quantity"))

    reckon_needs(build=build, now=now, by=owner)

    assert list(Need.objects.order_by("pk").values_list("pk", "quantity")) == before


def test_a_unit_taken_out_takes_its_needs_with_it(build, owner, now):
    added = UnitChoice("overhead", "Overhead", 1800, 330, 380)
    add_to_build(build=build, units=[added], now=now, by=owner)
    assert Need.objects.filter(unit__kind="overhead").exists()

    take_out(owner=build.units.get(kind="overhead"), now=now, by=owner)

    assert not Need.objects.filter(unit__kind="overhead").exists()


def test_what_is_typed_is_read_with_its_unit(build, owner, now):
    batten = Material.objects.get(key="batten")

    need = add_need(build=build, material=batten, quantity="2400 mm", now=now, by=owner)

    assert need.quantity == Decimal("2.400")
    remove_need(need=need, now=now, by=owner)
    assert not Need.objects.filter(pk=need.pk).exists()


@pytest.mark.parametrize("typed", ["3 l", "", "many", "-2 m", "0", "9**9**9", "1e9 m", "5 parsec"])
def test_what_is_no_length_is_refused(build, owner, now, typed):
    batten = Material.objects.get(key="batten")

    with pytest.raises(Refused) as refusal:
        add_need(build=build, material=batten, quantity=typed, now=now, by=owner)

    assert refusal.value.field == "quantity"


def test_a_reckoned_need_is_not_removed_by_hand(build, owner, now):
    with pytest.raises(Refused, match="reckoned"):
        remove_need(need=Need.objects.first(), now=now, by=owner)


def test_units_are_never_mixed():
    with pytest.raises(UnitsDiffer):
        total([quantity(Decimal(1), "m"), quantity(Decimal(1), "litre")], "m")
    with pytest.raises(UnitsDiffer):
        typed_quantity("3 kg", "litre")
    assert typed_quantity("1,5 l", "ml") == Decimal(1500)


def test_an_order_below_the_suppliers_smallest_says_so(shop, now):
    supplier = Supplier.objects.create(name="Smallest", minimum_order=Decimal(100))
    material = Material.objects.create(key="peg", name="Peg", price=Decimal(3), supplier=supplier)
    build = cast.make_build()
    Need.objects.create(build=build, material=material, quantity=Decimal(5))

    totals = material_totals([build], now, shop=shop)

    assert totals.suppliers[0].below_minimum == Decimal("85.00")
