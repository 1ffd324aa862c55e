"""The shop's closed days and materials as its pages show them."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from builds.models import ClosedDay, Material, OpeningSpan, Shop, Supplier
from builds.queries.shop import Closure, Holiday, material_lines, shop_days

TODAY = date(2027, 3, 1)


def test_days_in_a_row_for_one_reason_are_one_closure(shop):
    for day, reason in ((4, "Van show"), (5, "Van show"), (6, "Stocktaking"), (9, "Van show")):
        ClosedDay.objects.create(date=date(2027, 8, day), reason=reason)

    assert shop_days(TODAY).closures == (
        Closure(date(2027, 8, 4), date(2027, 8, 5), "Van show", 2, False),
        Closure(date(2027, 8, 6), date(2027, 8, 6), "Stocktaking", 1, False),
        Closure(date(2027, 8, 9), date(2027, 8, 9), "Van show", 1, False),
    )


def test_a_past_closure_stays_a_month_and_is_said_to_be_past(shop):
    ClosedDay.objects.create(date=date(2027, 2, 12), reason="Snow")
    ClosedDay.objects.create(date=date(2027, 1, 4), reason="Long ago")

    assert [(c.reason, c.past) for c in shop_days(TODAY).closures] == [("Snow", True)]


def test_english_bank_holidays_of_2027_are_as_published(shop):
    """GOV.UK, "UK bank holidays", England and Wales 2027; dates from memory."""
    Shop.objects.update(country="GB", subdivision="ENG")

    dates = [h.date for h in shop_days(TODAY).holidays if h.matters and h.date.year == 2027]

    assert dates == [
        date(2027, 3, 26),
        date(2027, 3, 29),
        date(2027, 5, 3),
        date(2027, 5, 31),
        date(2027, 8, 30),
        date(2027, 12, 27),
        date(2027, 12, 28),
    ]


def test_another_part_of_the_country_has_its_own_holidays(shop):
    """Corpus Christi, 60 days after Easter, is a holiday in Bavaria and none in Berlin; from memory."""

    def holidays_of(subdivision: str) -> set[date]:
        Shop.objects.update(country="DE", subdivision=subdivision)
        return {h.date for h in shop_days(TODAY).holidays}

    assert date(2027, 5, 27) in holidays_of("BY")
    assert date(2027, 5, 27) not in holidays_of("BE")


def test_a_worked_holiday_and_one_on_a_weekday_never_open_are_told_apart(shop):
    Shop.objects.update(country="GB", subdivision="ENG")
    ClosedDay.objects.create(date=date(2027, 3, 29), works_anyway=True)
    OpeningSpan.objects.filter(weekday=4).delete()

    holidays = {h.date: h for h in shop_days(TODAY).holidays}

    assert holidays[date(2027, 3, 29)] == Holiday(date(2027, 3, 29), "Easter Monday", True, True)
    assert not holidays[date(2027, 3, 26)].matters


def test_a_material_without_a_lead_time_has_its_suppliers(shop):
    yard = Supplier.objects.create(name="Sallow", lead_days=5)
    ply = {"form": "sheet", "length_mm": 2440, "width_mm": 1220, "thickness_mm": Decimal("12.0")}
    Material.objects.create(key="a", name="Ply", supplier=yard, **ply)
    Material.objects.create(key="b", name="Rod", supplier=yard, lead_days=0)

    lines = [(line.name, line.lead_days, line.size) for line in material_lines()]

    assert lines == [("Ply", 5, "2440 × 1220 × 12 mm"), ("Rod", 0, "")]


def test_every_word_looked_for_must_be_held(shop):
    yard = Supplier.objects.create(name="Sallow")
    Material.objects.create(key="a", name="Birch ply", supplier=yard)
    Material.objects.create(key="b", name="Poplar ply")

    assert [line.name for line in material_lines("ply")] == ["Birch ply", "Poplar ply"]
    assert [line.name for line in material_lines("PLY sallow")] == ["Birch ply"]
    assert material_lines("ply oak") == []
