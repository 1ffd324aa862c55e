"""A unit's own page: its drawing and parts, sizes tried at once and kept, refusals at their fields."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from builds.actions.builds import NewBuild, start_build
from builds.actions.composing import UnitChoice
from builds.actions.cutting import lay_out
from builds.actions.library import load_standard_library
from builds.actions.parts import change_part, remove_part
from builds.models import Build, CutSheet, Part, Unit
from builds.queries.unit_page import unit_page
from builds.screens.owner.forms_units import UnitForm

WARDROBE = UnitChoice("wardrobe", "Wardrobe", 500, 550, 1700)


@pytest.fixture
def library(shop, joiner, now):
    load_standard_library(now=now)


@pytest.fixture
def start(library, owner, now):
    def made(*units: UnitChoice, name: str = "Heron") -> Build:
        new = NewBuild(name=name, customer_name="The Ashdowns", arrives_on=date(2027, 3, 8), units=units)
        return start_build(new=new, now=now, by=owner)

    return made


@pytest.fixture
def wardrobe(start) -> Unit:
    return start(WARDROBE).units.get()


def address(unit: Unit, name: str = "unit-page") -> str:
    return reverse(f"owner:{name}", args=[unit.build_id, unit.pk])


def typed(unit: Unit, **other) -> dict:
    """The form of a unit as a browser sends it, some of it typed anew."""
    about = unit_page(Unit.objects.select_related("build__customer", "making").get(pk=unit.pk))
    form = UnitForm.of(unit, about.making, about.boards)
    sent = {field.name: field.value() for field in form}
    return {name: value for name, value in (sent | other).items() if value is not False and value is not None}


def test_the_list_of_units_leads_to_the_unit(owner_client, wardrobe):
    page = owner_client.get(reverse("owner:build-fitted", args=[wardrobe.build_id])).content.decode()

    assert address(wardrobe) in page


def test_the_page_draws_the_unit_and_lists_its_parts_with_their_mass(owner_client, wardrobe):
    page = owner_client.get(address(wardrobe)).content.decode()

    assert "Wardrobe, from the front: 500 by 1700 mm" in page
    assert "1700 × 551 × 12" in page
    about = unit_page(wardrobe)
    assert about.mass.total_kg == sum(line.mass_kg for line in about.mass.lines).quantize(about.mass.total_kg)
    assert f"{about.mass.total_kg} kg" in page


def test_the_mass_of_a_unit_is_its_boards_area_by_thickness_and_density(wardrobe):
    """Worked out here from the parts by hand; the density is the board's own."""
    (line,) = [row for row in unit_page(wardrobe).mass.lines if row.material == "Birch ply 12 mm"]

    rows = Part.objects.filter(unit=wardrobe, material__key="ply12").select_related("material")
    mm2 = sum(p.count * p.length_tenths * p.width_tenths for p in rows) / 100
    by_hand = mm2 * 12 / 1e9 * rows[0].material.density_kg_m3
    assert float(line.mass_kg) == pytest.approx(by_hand, abs=0.02)
    assert str(rows[0].material.density_kg_m3) in line.by


def test_other_sizes_are_shown_at_once_and_not_kept(owner_client, wardrobe):
    before = list(Part.objects.values())

    answer = owner_client.post(address(wardrobe, "unit-preview"), typed(wardrobe, height_mm=1800))

    words = answer.content.decode()
    assert answer.status_code == 200
    assert "Wardrobe, from the front: 500 by 1800 mm" in words
    assert "2 × 1700 × 551 × 12" in words
    assert "2 × 1800 × 551 × 12" in words
    assert list(Part.objects.values()) == before


def test_keeping_other_sizes_works_the_parts_out_anew(owner_client, wardrobe):
    sent = typed(wardrobe, height_mm=1800, doors=2, gap_tenths="2.5")

    answer = owner_client.post(address(wardrobe), sent)

    assert answer.status_code == 302
    assert wardrobe.parts.get(key="side").length_tenths == 18000
    assert wardrobe.parts.get(key="door").count == 2
    wardrobe.refresh_from_db()
    assert (wardrobe.height_mm, wardrobe.making.gap_tenths, wardrobe.making.version) == (1800, 25, 2)


@pytest.mark.parametrize(
    ("other", "field", "words"),
    [
        ({"width_mm": 0}, "width_mm", "More than nothing"),
        ({"width_mm": -600}, "width_mm", "More than nothing"),
        ({"width_mm": "600.5"}, "width_mm", "Whole millimetres"),
        ({"width_mm": 99999}, "width_mm", "outside the usual"),
        ({"width_mm": "1e9"}, "width_mm", "Whole millimetres"),
        ({"width_mm": "wide"}, "width_mm", "Whole millimetres"),
        ({"gap_tenths": "2.55"}, "gap_tenths", "To a tenth"),
        ({"gap_tenths": "-1"}, "gap_tenths", "Not less than nothing"),
        ({"gap_tenths": "NaN"}, "gap_tenths", "To a tenth"),
        ({"doors": 24, "gap_tenths": 20}, "doors", "would be"),
        ({"fronts": "framed", "strip_width_tenths": 300}, "strip_width_tenths", "can’t be cut|can't be cut"),
        ({"shelves": 4}, "inside", "clothes need"),
        (
            {"plinth_tenths": 400, "depth_mm": 350, "inside": "shelves", "gap_tenths": 21},
            "gap_tenths",
            "20 mm",
        ),
        ({"board": 987654}, "board", "valid choice"),
        ({"hinge_from_tenths": 5}, "hinge_from_tenths", "20 mm to 600 mm"),
    ],
)
def test_what_can_not_be_made_is_refused_at_its_field_in_the_preview_and_on_keeping(
    owner_client, wardrobe, other, field, words
):
    sent = typed(wardrobe, **other)
    before = list(Part.objects.values())

    tried = owner_client.post(address(wardrobe, "unit-preview"), sent)
    kept = owner_client.post(address(wardrobe), sent)

    assert (tried.status_code, kept.status_code) == (422, 422)
    for answer in (tried, kept):
        errors = answer.context["form"].errors
        assert list(errors) == [field]
        assert any(part in errors[field][0] for part in words.split("|")), errors
    if str(other.get(field, "")):
        assert f'value="{other[field]}"' in kept.content.decode() or field == "board"
    assert list(Part.objects.values()) == before


def test_a_panel_larger_than_any_sheet_is_refused_with_its_sizes(owner_client, start):
    overhead = start(UnitChoice("overhead", "Overhead", 2000, 330, 380)).units.get()

    answer = owner_client.post(address(overhead, "unit-preview"), typed(overhead, width_mm=3200))

    assert answer.status_code == 422
    assert "larger than Birch ply 9 mm is bought" in answer.content.decode()


def test_a_unit_that_can_not_be_made_says_why_and_can_be_put_right(owner_client, start):
    overhead = start(UnitChoice("overhead", "Overhead", 3200, 330, 380)).units.get()
    assert "larger than Birch ply 9 mm is bought" in owner_client.get(address(overhead)).content.decode()

    owner_client.post(address(overhead), typed(overhead, width_mm=2000))

    assert overhead.parts.exists()


def test_a_page_made_before_somebody_else_changed_it_keeps_nothing(owner_client, wardrobe):
    old = typed(wardrobe, height_mm=1750)
    owner_client.post(address(wardrobe), typed(wardrobe, height_mm=1800))

    answer = owner_client.post(address(wardrobe), old)

    assert answer.status_code == 409
    assert "changed by somebody else" in answer.content.decode()
    wardrobe.refresh_from_db()
    assert wardrobe.height_mm == 1800


def test_the_parts_changed_by_hand_are_marked_and_stay_when_sizes_change(owner_client, wardrobe, owner, now):
    who = {"now": now, "by": owner}
    shelf = wardrobe.parts.get(key="shelf")
    change_part(part=shelf, fields={"width_tenths": 4000}, version=1, **who)
    remove_part(part=wardrobe.parts.get(key="back"), **who)

    owner_client.post(address(wardrobe), typed(wardrobe, width_mm=550))

    about = unit_page(Unit.objects.select_related("build", "making").get(pk=wardrobe.pk))
    (line,) = [row for row in about.parts if row.name == "Shelf"]
    assert (line.size, line.origin) == ("476 × 400 × 12", "changed by hand")
    assert line.drawn_as == "1 × 526 × 537 × 12, Birch ply 12 mm"
    assert [row.name for row in about.taken_out] == ["Back"]
    assert (
        "changed by hand; drawn as 1 × 526 × 537 × 12" in owner_client.get(address(wardrobe)).content.decode()
    )


def cut_all(unit: Unit, owner, now) -> list[CutSheet]:
    plans = lay_out(builds=[unit.build], now=now, by=owner)
    sheets = [sheet for plan in plans for sheet in plan.sheets.all()]
    for sheet in sheets:
        sheet.cut_at = now + timedelta(hours=2)
        sheet.save()
    return sheets


def test_a_change_after_cutting_says_what_it_means(owner_client, wardrobe, owner, now):
    cut_all(wardrobe, owner, now)
    assert "out of date" not in owner_client.get(address(wardrobe)).content.decode()

    tried = owner_client.post(
        address(wardrobe, "unit-preview"), typed(wardrobe, height_mm=1800)
    ).content.decode()
    owner_client.post(address(wardrobe), typed(wardrobe, height_mm=1800))

    assert "Cut, and not asked for any more" in tried
    assert "2 × Side 1700 × 551 mm" in tried
    page = owner_client.get(address(wardrobe)).content.decode()
    assert "Its plan is out of date" in page
    assert "2 × Side 1700 × 551 mm" in page


def test_a_change_that_leaves_the_parts_as_they_are_leaves_the_cutting_as_it_is(
    owner_client, wardrobe, owner, now
):
    cut_all(wardrobe, owner, now)

    owner_client.post(address(wardrobe), typed(wardrobe, hinge_from_tenths=120))

    page = owner_client.get(address(wardrobe)).content.decode()
    assert "out of date" not in page
    assert "not asked for any more" not in page


def test_the_unit_of_another_build_and_one_taken_out_are_not_there(owner_client, wardrobe, start, now):
    other = start(WARDROBE, name="Plover")

    assert owner_client.get(reverse("owner:unit-page", args=[other.pk, wardrobe.pk])).status_code == 404
    Unit.objects.filter(pk=wardrobe.pk).update(removed_at=now)
    assert owner_client.get(address(wardrobe)).status_code == 404
    assert owner_client.post(address(wardrobe, "unit-preview"), {}).status_code == 404


def test_the_page_asks_at_most_twelve_times_however_many_parts_and_sheets(owner_client, start, owner, now):
    few = start(UnitChoice("worktop", "Top", 1200, 500, 30), name="Plover").units.get()
    many = start(WARDROBE, UnitChoice("kitchen", "Kitchen", 1200, 500, 880)).units.get(kind="kitchen")
    for unit in (few, many):
        lay_out(builds=[unit.build], now=now, by=owner)
    counts = []
    for unit in (few, many):
        with CaptureQueriesContext(connection) as asked:
            assert owner_client.get(address(unit)).status_code == 200
        counts.append(len(asked))

    assert max(counts) <= 12
    assert len(set(counts)) == 1
