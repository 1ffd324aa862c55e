"""Boards that are laid out count in whole sheets; others by area with waste."""

from __future__ import annotations

from decimal import Decimal

import pytest

from builds.actions.cutting import lay_out
from builds.models import CutSheet, Need, Offcut
from builds.queries.material_totals import material_totals
from tests import cast


@pytest.fixture
def board(shop):
    return cast.make_board()


def make_box(board, name: str, shelves: int):
    """A unit of `shelves` of 1.17 m², two of which fill a sheet, and the need its parts make."""
    unit = cast.make_unit(cast.make_build(name), "Box")
    cast.make_part(unit, board, "Shelf", 2000, 585, count=shelves)
    area = Decimal("1.170") * shelves
    Need.objects.create(build=unit.build, unit=unit, material=board, quantity=area, waste_percent=15)
    return unit.build


def sheets_of(builds, now, shop):
    (line,) = material_totals(builds, now, shop=shop).lines
    return line.packs, line.needs[0].rule


def test_what_is_not_laid_out_is_reckoned_by_area(board, shop, now):
    build = make_box(board, "Heron", shelves=4)

    packs, rule = sheets_of([build], now, shop)

    assert (packs, "layout" in rule) == (2, False)  # 4.68 m² and 15 % are less than two sheets of 2.977 m²


def test_three_parts_of_which_two_fill_a_sheet_take_two_sheets(board, shop, now):
    build = make_box(board, "Heron", shelves=5)
    assert sheets_of([build], now, shop)[0] == 3
    lay_out(builds=[build], now=now, by=None)

    assert sheets_of([build], now, shop) == (3, "3 sheets by layout")


def test_a_layout_that_takes_more_sheets_than_its_area_says_so(board, shop, now):
    unit = cast.make_unit(cast.make_build(), "Box")
    cast.make_part(unit, board, "Large side", 1300, 700, count=3)
    Need.objects.create(
        build=unit.build, unit=unit, material=board, quantity=Decimal("2.730"), waste_percent=0
    )
    by_area, _ = sheets_of([unit.build], now, shop)
    lay_out(builds=[unit.build], now=now, by=None)

    assert (by_area, sheets_of([unit.build], now, shop)) == (1, (3, "3 sheets by layout"))


def test_two_vans_laid_out_together_need_what_their_layout_takes(board, shop, now):
    heron, plover = make_box(board, "Heron", shelves=3), make_box(board, "Plover", shelves=3)
    lay_out(builds=[heron, plover], now=now, by=None)

    both = sheets_of([heron, plover], now, shop)

    assert both == (3, "3 sheets by layout, for 2 vans together")
    assert sheets_of([heron], now, shop)[0] == 2


def test_parts_from_an_offcut_take_no_sheet(board, shop, now):
    Offcut.objects.create(material=board, length_mm=2100, width_mm=700, kept_at=now)
    build = make_box(board, "Heron", shelves=1)
    lay_out(builds=[build], now=now, by=None)

    assert sheets_of([build], now, shop) == (0, "0 sheets by layout")


def test_changed_parts_go_by_area_until_they_are_laid_out_again(board, shop, now):
    build = make_box(board, "Heron", shelves=5)
    lay_out(builds=[build], now=now, by=None)
    build.units.get().parts.update(count=6)

    assert "layout" not in sheets_of([build], now, shop)[1]


def test_sheets_cut_before_count_with_those_laid_out_since(board, shop, now):
    build = make_box(board, "Heron", shelves=5)
    (plan,) = lay_out(builds=[build], now=now, by=None)
    CutSheet.objects.filter(plan=plan, number=1).update(cut_at=now)
    lay_out(builds=[build], now=now, by=None)

    assert sheets_of([build], now, shop) == (3, "3 sheets by layout")


def test_a_quantity_the_owner_typed_stays(board, shop, now):
    build = make_box(board, "Heron", shelves=5)
    lay_out(builds=[build], now=now, by=None)
    Need.objects.update(is_typed=True, waste_percent=0, quantity=Decimal("2.000"))

    assert sheets_of([build], now, shop)[0] == 1
