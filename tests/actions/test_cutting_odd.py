"""Odd lists: a kerf wider than a part, sheets smaller than their trims, ten thousand parts."""

from __future__ import annotations

import pytest

from builds.actions.cutting import lay_out, set_saw
from builds.actions.door import Refused
from builds.actions.offcuts import keep_offcut
from tests import cast
from tests.cast import NOW


@pytest.fixture
def board(shop):
    return cast.make_board()


@pytest.fixture
def build(shop, joiner):
    return cast.make_build()


def pieces_of(plan) -> int:
    return sum(len(sheet.pieces) for sheet in plan.sheets.all())


def test_parts_narrower_than_the_saw_cut_are_laid_out(build, board, owner):
    set_saw(kerf_tenths=200, trim_tenths=100, now=NOW, by=owner)
    unit = cast.make_unit(build)
    for n in range(3):
        cast.make_part(unit, board, f"Fillet {n}", 1000, 12)

    plan = lay_out(builds=[build], now=NOW, by=owner)[0]

    assert pieces_of(plan) == 3


def test_an_offcut_that_its_trims_leave_nothing_of_is_passed_over(build, board, owner):
    set_saw(kerf_tenths=30, trim_tenths=1000, now=NOW, by=owner)
    keep_offcut(material=board, length_mm=900, width_mm=190, now=NOW, by=owner)
    cast.make_part(cast.make_unit(build), board, "Shelf", 500, 100)

    plan = lay_out(builds=[build], now=NOW, by=owner)[0]

    assert pieces_of(plan) == 1
    assert all(sheet.offcut_id is None for sheet in plan.sheets.all())


def test_a_board_smaller_than_its_trims_is_refused_by_its_name(build, owner, shop):
    narrow = cast.make_board("narrow", width_mm=150)
    set_saw(kerf_tenths=30, trim_tenths=1000, now=NOW, by=owner)
    cast.make_part(cast.make_unit(build), narrow, "Shelf", 100, 20)

    with pytest.raises(Refused, match="Board narrow can’t be cut: the sheet is no larger than its trims"):
        lay_out(builds=[build], now=NOW, by=owner)


def test_ten_thousand_parts_are_laid_out_whole(build, board, owner):
    cast.make_part(cast.make_unit(build), board, "Slat", 300, 40, count=10_000)

    plan = lay_out(builds=[build], now=NOW, by=owner)[0]

    assert pieces_of(plan) == 10_000
    assert not plan.unplaced
