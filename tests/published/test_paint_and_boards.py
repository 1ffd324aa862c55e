"""Spreading rate of paint and mass of a board.

Sources: spreading rate = solids % x 10 / dry film in µm, 71 % and 125 µm give 5.68 m²/l (coating
handbooks), tolerance 0.01; birch plywood 18 mm, 1220 x 2440 mm at 685 kg/m³ weighs 36.7 kg (birch
plywood data sheet), tolerance 0.05.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from builds.engines.material.reckoning import board_mass_kg, spreading_rate


def test_the_spreading_rate_of_a_coating():
    assert spreading_rate(71, 125) == pytest.approx(5.68, abs=0.01)


def test_the_mass_of_a_plywood_sheet():
    area = Decimal("1.220") * Decimal("2.440")

    assert float(board_mass_kg(area, Decimal(18), 685)) == pytest.approx(36.7, abs=0.05)
