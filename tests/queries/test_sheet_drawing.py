"""A sheet drawn to scale: pieces where they lie, names that fit, the order of cuts in words."""

from __future__ import annotations

from decimal import Decimal

import pytest

from builds.models import CutSheet, CuttingPlan
from builds.queries.sheet_drawing import sheet_drawing


def piece(name, x, y, length, width):
    names = {"part": 1, "unit": 1, "build": 1, "name": name, "unit_name": "Kitchen", "van": "Heron"}
    return names | {"x": 10 * x, "y": 10 * y, "length": 10 * length, "width": 10 * width}


def drawn(*pieces, leftovers=(), length=2440, width=1220):
    plan = CuttingPlan(kerf_tenths=30, trim_tenths=100)
    sheet = CutSheet(
        number=1,
        length_tenths=10 * length,
        width_tenths=10 * width,
        pieces=list(pieces),
        leftovers=[[10 * n for n in rest] for rest in leftovers],
    )
    return sheet_drawing(sheet, plan)


def test_pieces_lie_where_they_are_cut_in_millimetres():
    found = drawn(piece("Side", 10, 10, 880, 500))

    side = found.pieces[0]
    assert (side.x, side.y, side.width, side.height, side.size) == ("10", "10", "880", "500", "880 × 500")


def test_half_millimetres_are_said():
    assert drawn(piece("Front", 10, 10, 388.5, 500)).pieces[0].size == "388.5 × 500"


def test_a_large_piece_has_its_name_unit_and_size_in_it():
    side = drawn(piece("Side", 10, 10, 880, 500)).pieces[0]

    assert [text for _, text in side.lines] == ["1 Side", "Kitchen", "880 × 500"]
    assert side.turn == ""


def test_a_tall_narrow_piece_is_written_along_its_length():
    assert drawn(piece("Post", 10, 10, 90, 900)).pieces[0].turn.startswith("rotate(-90")


def test_a_slip_has_its_number_only():
    assert [text for _, text in drawn(piece("Slat", 10, 10, 60, 40)).pieces[0].lines] == ["1"]


@pytest.mark.parametrize("name", ["Side", "A divider with a very long name for the drawer unit", "W" * 80])
def test_what_is_written_stays_within_the_piece(name):
    for length, width in ((880, 500), (300, 120), (120, 700), (60, 40)):
        found = drawn(piece(name, 10, 10, length, width)).pieces[0]
        room, rise = (width, length) if found.turn else (length, width)
        letters = Decimal(found.letters)

        assert max(len(text) for _, text in found.lines) * letters * Decimal("0.58") <= room
        assert len(found.lines) * letters <= rise


def test_the_cuts_are_said_strip_by_strip():
    found = drawn(
        piece("Side", 10, 10, 880, 500), piece("Side", 893, 10, 880, 500), piece("Top", 10, 513, 1000, 300)
    )

    assert found.order == (
        "Crosscut the waste off",
        "Rip at 500, 300",
        "Crosscut the piece 1763 × 500 at 880",
        "Crosscut the waste off the piece 1763 × 300",
    )
    assert [cut.number for cut in found.first_cuts] == [1, 2, 3]


def test_cuts_that_are_alike_are_said_once():
    slats = [piece("Slat", 10, 10 + 73 * n, 1400, 70) for n in range(3)]

    found = drawn(piece("Side", 10, 229, 2000, 500), *slats)

    assert found.order[-1] == "Crosscut the waste off the piece 2000 × 70, 3 times"


def test_what_is_left_over_is_drawn_with_its_size():
    found = drawn(piece("Side", 10, 10, 880, 1200), leftovers=[(893, 10, 1537, 1200)])

    assert [(rest.size, round(rest.area_m2, 2)) for rest in found.rests] == [("1537 × 1200", 1.84)]
    assert found.used_percent == 35
