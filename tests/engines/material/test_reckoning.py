"""Packs, waste, litres, cartridges, money and mass, each by hand."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builds.engines.material.measures import unit_measures, van_measures
from builds.engines.material.reckoning import (
    board_mass_kg,
    cartridges_for,
    litres_for,
    minimum_missing,
    packs_for,
    total_price,
    with_waste,
)

D = Decimal
amounts = st.decimals(min_value=D("0.001"), max_value=D("9999"), places=3)


def test_a_cube_of_a_metre_has_six_square_metres_of_outer_box():
    measures = unit_measures(1000, 1000, 1000, board_share=0.5, coated_faces=2)

    assert measures["board_m2"] == pytest.approx(3.0)
    assert measures["coated_m2"] == pytest.approx(6.0)
    assert measures["run_m"] == 1.0


def test_a_vans_lining_is_its_walls_and_its_ceiling():
    van = van_measures(3000, 1800, 1900)

    assert van["floor_m2"] == pytest.approx(5.4)
    assert van["wall_m2"] == pytest.approx((2 * 3 + 1.8) * 1.9 * 0.85)
    assert van["lining_m2"] == pytest.approx(van["wall_m2"] + van["floor_m2"])


def test_two_coats_on_ten_square_metres_at_ten_a_litre_are_two_litres():
    assert litres_for(10, 2, 10) == pytest.approx(2.0)


@pytest.mark.parametrize(("coats", "spread"), [(0, 10), (2, 0), (2, -1)])
def test_no_coats_or_no_spread_is_refused(coats, spread):
    with pytest.raises(ValueError, match="above zero"):
        litres_for(10, coats, spread)


def test_a_bead_of_eight_by_ten_millimetres_empties_a_cartridge_in_under_four_metres():
    assert cartridges_for(3.875, 80, 310) == pytest.approx(1.0)


@given(quantity=amounts, pack=amounts)
def test_packs_hold_what_is_needed_and_not_a_pack_more(quantity, pack):
    packs = packs_for(quantity, pack)

    assert packs * pack >= quantity
    assert (packs - 1) * pack < quantity


def test_nothing_needed_is_no_pack_and_an_empty_pack_is_refused():
    assert packs_for(D(0), D(5)) == 0
    with pytest.raises(ValueError, match="hold something"):
        packs_for(D(3), D(0))


def test_waste_is_added_to_what_is_needed():
    assert with_waste(D("10"), D("15")) == D("11.500")


@given(st.lists(st.tuples(st.decimals(0, 9999, places=2), st.sampled_from([D(0), D(5), D(20)])), max_size=12))
def test_line_and_invoice_vat_differ_by_less_than_a_penny_a_line(lines):
    by_line, by_invoice = total_price(lines, "line"), total_price(lines, "invoice")

    assert by_line.net == by_invoice.net
    assert abs(by_line.vat - by_invoice.vat) <= D("0.005") * (len(lines) + 3)


def test_another_vat_level_is_refused():
    with pytest.raises(ValueError, match="by line or by invoice"):
        total_price([], "month")


def test_what_an_order_lacks_to_the_smallest_one():
    assert minimum_missing(D("40"), D("150")) == D("110")
    assert minimum_missing(D("200"), D("150")) == D("0")


def test_a_board_of_nothing_weighs_nothing():
    assert board_mass_kg(D(0), D(18), 685) == D("0.00")
