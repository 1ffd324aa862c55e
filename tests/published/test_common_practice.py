"""Rules of the trade that stand in no standard we could read: common practice, no source.

A bead 6 mm wide and high from a cartridge of 290 ml is 8.05 m long; one litre of 40 % solids at 40 µm dry
film covers 10 m²; two coats on 12 m² at 10 m²/l take 2.4 l; 10 % more than the run of a batten is bought,
a length not begun is not bought. The figures are arithmetic from these; tolerance 0.01.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from builds.engines.material.reckoning import (
    cartridges_for,
    litres_for,
    packs_for,
    spreading_rate,
    with_waste,
)


def test_a_cartridge_of_290_ml_lays_eight_metres_of_a_6_mm_bead():
    assert cartridges_for(8.05, 6 * 6, 290) == pytest.approx(1.0, abs=0.01)


def test_thinner_film_goes_further():
    assert spreading_rate(40, 40) == pytest.approx(10.0, abs=0.01)
    assert spreading_rate(40, 80) == pytest.approx(5.0, abs=0.01)


def test_two_coats_take_twice_the_litres_of_one():
    assert litres_for(12.0, 2, 10.0) == pytest.approx(2.4, abs=0.01)


@pytest.mark.parametrize(("run", "lengths"), [("21.8", 10), ("21.9", 11)])
def test_a_tenth_more_of_a_batten_is_bought_in_whole_lengths(run, lengths):
    assert packs_for(with_waste(Decimal(run), Decimal(10)), Decimal("2.4")) == lengths
