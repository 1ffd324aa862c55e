"""Offcuts: the least size, where they lie, and a history that only grows."""

from __future__ import annotations

from uuid import uuid4

import pytest

from builds.actions import materials
from builds.actions.door import Refused, Stale
from builds.actions.offcuts import (
    bring_back_offcut,
    correct_offcut,
    keep_offcut,
    throw_out_offcut,
    use_offcut,
)
from builds.actions.shop import change_shop
from builds.models import Offcut
from tests import cast
from tests.cast import NOW

SHEET = {"form": "sheet", "unit": "piece", "length_mm": 2440, "width_mm": 1220}


@pytest.fixture
def ply(shop, owner):
    return materials.add_material(name="Birch ply 12", now=NOW, by=owner, **SHEET)


@pytest.fixture
def batten(shop, owner):
    return materials.add_material(name="Batten", form="length", unit="m", length_mm=2400, now=NOW, by=owner)


@pytest.fixture
def offcut(ply, owner):
    return keep_offcut(material=ply, length_mm=900, width_mm=310, lies="rack, left", now=NOW, by=owner)


def history(offcut) -> list[tuple]:
    return [(e.kind, e.length_mm, e.width_mm, e.lies) for e in offcut.events.order_by("pk")]


def test_an_offcut_is_kept_with_where_it_lies(offcut):
    assert (offcut.state, str(offcut)) == ("there", "Birch ply 12, 900 x 310 mm")
    assert history(offcut) == [("kept", 900, 310, "rack, left")]


@pytest.mark.parametrize(("length", "width"), [(399, 399), (900, 149), (149, 900)])
def test_a_rest_under_the_least_size_is_refused_either_way_round(ply, owner, length, width):
    with pytest.raises(Refused, match="400 x 150 mm"):
        keep_offcut(material=ply, length_mm=length, width_mm=width, now=NOW, by=owner)

    keep_offcut(material=ply, length_mm=length, width_mm=width, small_too=True, now=NOW, by=owner)
    assert Offcut.objects.count() == 1


def test_the_least_size_is_the_shops_to_choose(ply, owner):
    change_shop({"offcut_least_width_mm": 100}, now=NOW, by=owner)

    assert keep_offcut(material=ply, length_mm=149, width_mm=900, now=NOW, by=owner).width_mm == 900


@pytest.mark.parametrize(("length", "width"), [(2441, 500), (0, 500), (500, None), (99999, 300), (500, 1221)])
def test_sizes_that_can_not_be_are_refused(ply, owner, length, width):
    with pytest.raises(Refused):
        keep_offcut(material=ply, length_mm=length, width_mm=width, small_too=True, now=NOW, by=owner)

    assert not Offcut.objects.exists()


def test_a_length_has_no_width_and_a_tin_leaves_no_offcut(batten, owner):
    glue = materials.add_material(name="Glue", form="liquid", unit="litre", now=NOW, by=owner)

    assert keep_offcut(material=batten, length_mm=600, now=NOW, by=owner).width_mm is None
    for material, width in ((batten, 40), (glue, None)):
        with pytest.raises(Refused):
            keep_offcut(material=material, length_mm=600, width_mm=width, small_too=True, now=NOW, by=owner)


def test_the_same_form_twice_keeps_one(ply, owner):
    token = uuid4()
    sizes = {"length_mm": 900, "width_mm": 310}

    first = keep_offcut(material=ply, **sizes, token=token, now=NOW, by=owner)
    second = keep_offcut(material=ply, **sizes, token=token, now=NOW, by=owner)

    assert first == second
    assert Offcut.objects.count() == 1


def test_a_correction_keeps_what_was_written_before(offcut, owner):
    correct_offcut(offcut=offcut, length_mm=880, width_mm=310, lies="rack, left", now=NOW, by=owner)
    correct_offcut(offcut=offcut, length_mm=880, width_mm=310, lies="loft", now=NOW, by=owner)
    correct_offcut(offcut=offcut, length_mm=880, width_mm=310, lies="loft", now=NOW, by=owner)

    assert history(offcut) == [
        ("kept", 900, 310, "rack, left"),
        ("measured", 880, 310, "rack, left"),
        ("moved", 880, 310, "loft"),
    ]


def test_a_used_offcut_is_used_once_and_can_come_back(offcut, owner):
    heron, teal = cast.make_build("Heron"), cast.make_build("Teal")
    use_offcut(offcut=offcut, build=heron, now=NOW, by=owner)

    with pytest.raises(Refused, match="not there any more"):
        use_offcut(offcut=offcut, build=teal, now=NOW, by=owner)
    with pytest.raises(Refused):
        throw_out_offcut(offcut=offcut, now=NOW, by=owner)

    back = bring_back_offcut(offcut=offcut, now=NOW, by=owner)
    assert (back.state, back.used_for) == ("there", None)
    assert [kind for kind, *_ in history(offcut)] == ["kept", "used", "back"]


def test_a_stale_page_changes_nothing(offcut, owner):
    seen = offcut.version
    throw_out_offcut(offcut=offcut, why="split", version=seen, now=NOW, by=owner)

    with pytest.raises(Stale):
        bring_back_offcut(offcut=offcut, version=seen, now=NOW, by=owner)
