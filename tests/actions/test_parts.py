"""Parts come from a unit's sizes and choices; what the owner changes by hand stays."""

from __future__ import annotations

import uuid
from datetime import date

import pytest

from builds.actions.builds import NewBuild, start_build
from builds.actions.composing import UnitChoice
from builds.actions.door import Gone, Refused, Stale
from builds.actions.library import load_standard_library
from builds.actions.parts import (
    add_part,
    change_making,
    change_part,
    derive_parts,
    remove_part,
    take_back,
)
from builds.models import Build, Making, Material, Need, Part, Unit


@pytest.fixture
def library(shop, joiner, now):
    load_standard_library(now=now)


def start(owner, now, *units: UnitChoice) -> Build:
    return start_build(
        new=NewBuild(name="Heron", customer_name="The Ashdowns", arrives_on=date(2027, 3, 8), units=units),
        now=now,
        by=owner,
    )


@pytest.fixture
def wardrobe(library, owner, now) -> Unit:
    start(owner, now, UnitChoice("wardrobe", "Wardrobe", 500, 550, 1700))
    return Unit.objects.get()


@pytest.fixture
def who(owner, now) -> dict:
    return {"now": now, "by": owner}


def sizes(unit: Unit) -> dict[str, tuple[int, int, int]]:
    return {p.key: (p.count, p.length_tenths, p.width_tenths) for p in unit.parts.all()}


def test_a_unit_put_into_a_build_has_its_parts_at_once(wardrobe):
    assert sizes(wardrobe) == {
        "side": (2, 17000, 5510),
        "bottom": (1, 4760, 5510),
        "top": (1, 4760, 5510),
        "back": (1, 16760, 4760),
        "shelf": (1, 4760, 5370),
        "rail": (1, 4760, 250),
        "door": (1, 16960, 4960),
    }
    assert wardrobe.making.inside == "rail"


def test_cupboards_bring_no_fronts_where_the_fronts_are_a_unit_of_their_own(library, owner, now):
    build = start(
        owner,
        now,
        UnitChoice("wardrobe", "Wardrobe", 500, 550, 1700),
        UnitChoice("fronts", "Fronts", 2000, 20, 600),
    )

    of_wardrobe, of_fronts = (sizes(unit) for unit in build.units.all())
    assert "door" not in of_wardrobe
    assert of_wardrobe["side"] == (2, 17000, 5600)
    assert sorted(of_fronts) == ["door", "door-rail", "door-upright"]


def test_new_sizes_change_the_parts_in_place(wardrobe, who):
    side = wardrobe.parts.get(key="side")

    change_making(unit=wardrobe, sizes={"height_mm": 1800}, choices={"shelves": 2}, version=1, **who)

    after = wardrobe.parts.get(key="side")
    assert (after.pk, after.length_tenths, after.version) == (side.pk, 18000, 2)
    assert wardrobe.parts.get(key="shelf").count == 2
    assert Need.objects.get(unit=wardrobe, material__key="tube25").quantity > 0


@pytest.mark.parametrize(
    ("sizes", "choices", "field"),
    [
        ({"width_mm": 100}, {}, "width_mm"),
        ({}, {"bays": 0}, "bays"),
        ({}, {"shelves": 4}, "inside"),
        ({"depth_mm": 350}, {"plinth_tenths": 9000}, "plinth"),
        ({}, {"board": None}, "board"),
    ],
)
def test_sizes_that_can_not_work_change_nothing(wardrobe, who, sizes, choices, field):
    before = list(Part.objects.values())

    with pytest.raises(Refused) as refused:
        change_making(unit=wardrobe, sizes=sizes, choices=choices, version=1, **who)

    assert refused.value.field == field
    assert list(Part.objects.values()) == before
    assert Making.objects.get().version == 1
    assert Unit.objects.get().width_mm == 500


def test_choices_made_from_an_old_page_are_refused(wardrobe, who):
    change_making(unit=wardrobe, sizes={}, choices={"shelves": 2}, version=1, **who)

    with pytest.raises(Stale):
        change_making(unit=wardrobe, sizes={}, choices={"shelves": 0}, version=1, **who)


def test_a_part_the_owner_changed_survives_working_out_anew(wardrobe, who):
    shelf = wardrobe.parts.get(key="shelf")
    change_part(part=shelf, fields={"width_tenths": 4000, "name": "Hat shelf"}, version=1, **who)

    change_making(unit=wardrobe, sizes={"height_mm": 1900}, choices={}, version=1, **who)

    kept = wardrobe.parts.get(key="shelf")
    assert (kept.name, kept.width_tenths, kept.is_changed) == ("Hat shelf", 4000, True)
    take_back(part=kept, **who)
    again = wardrobe.parts.get(key="shelf")
    assert (again.name, again.width_tenths, again.is_changed) == ("Shelf", 5370, False)


def test_a_changed_part_stays_though_its_unit_no_longer_has_it(wardrobe, who):
    shelf = wardrobe.parts.get(key="shelf")
    change_part(part=shelf, fields={"count": 3}, version=1, **who)

    change_making(unit=wardrobe, sizes={}, choices={"shelves": 0}, version=1, **who)

    assert wardrobe.parts.get(key="shelf").count == 3


def test_a_part_the_owner_removed_stays_out_until_it_is_taken_back(wardrobe, who):
    back = wardrobe.parts.get(key="back")
    remove_part(part=back, **who)

    derive_parts(unit=wardrobe, **who)

    assert not wardrobe.parts.filter(key="back").exists()
    assert not Need.objects.filter(unit=wardrobe, material__key="ply4").exists()
    take_back(part=back, **who)
    assert wardrobe.parts.get(key="back").length_tenths == 16760


def test_a_part_by_hand_is_added_once_and_stays(wardrobe, who):
    ply = Material.objects.get(key="ply12")
    token = uuid.uuid4()
    fields = {"name": "Shoe rack", "length_tenths": 4000, "width_tenths": 2000, "material": ply}

    first = add_part(unit=wardrobe, fields=fields, token=token, **who)
    again = add_part(unit=wardrobe, fields=fields, token=token, **who)
    derive_parts(unit=wardrobe, **who)

    assert first == again
    assert wardrobe.parts.filter(by_hand=True).count() == 1
    assert wardrobe.parts.get(by_hand=True).thickness_tenths == 120


@pytest.mark.parametrize(
    ("fields", "field", "words"),
    [
        ({"length_tenths": 5000}, "length_tenths", "larger than its unit, which has 476 mm"),
        ({"width_tenths": 9000}, "width_tenths", "which has 550 mm"),
        ({"length_tenths": 30000}, "length_tenths", "larger than Birch ply 12 mm is bought"),
        ({"length_tenths": 20}, "length_tenths", "at least 5 mm"),
        ({"count": 0}, "count", "than or equal to 1"),
        ({"name": " "}, "name", "blank"),
        ({"scribe_tenths": 100}, "scribe_edges", "which edge"),
        ({"scribe_edges": ["far"], "scribe_tenths": 0}, "scribe_tenths", "how much"),
        ({"scribe_edges": ["far"], "scribe_tenths": 9000}, "scribe_tenths", "at most 100 mm"),
    ],
)
def test_a_part_that_can_not_be_is_refused_at_the_field(wardrobe, who, fields, field, words):
    shelf = wardrobe.parts.get(key="shelf")

    with pytest.raises(Refused, match=words) as refused:
        change_part(part=shelf, fields=fields, version=None, **who)

    assert refused.value.field == field
    assert wardrobe.parts.get(key="shelf").version == 1


def test_a_part_somebody_else_changed_or_removed_is_not_overwritten(wardrobe, who):
    shelf = wardrobe.parts.get(key="shelf")
    change_part(part=shelf, fields={"count": 2}, version=1, **who)

    with pytest.raises(Stale):
        change_part(part=shelf, fields={"count": 3}, version=1, **who)
    remove_part(part=shelf, **who)
    with pytest.raises(Gone):
        change_part(part=shelf, fields={"count": 3}, version=2, **who)


def test_a_unit_too_large_for_its_boards_stands_without_parts(library, owner, now, who):
    build = start(owner, now, UnitChoice("overhead", "Overhead", 3200, 330, 380))

    unit = build.units.get()
    assert not unit.parts.exists()
    assert Need.objects.get(unit=unit, material__key="ply9").rule == "board area of the unit"
    with pytest.raises(Refused, match="larger than Birch ply 9 mm is bought"):
        derive_parts(unit=unit, **who)
