"""VAT to the penny, half a penny up.

Source: HMRC internal manual VATREC12030 (rounding on line and on invoice); arithmetic recomputed. Exact.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from builds.engines.material.reckoning import total_price, vat_of

CASES = [
    ("100.00", "20", "20.00"),
    ("10.03", "20", "2.01"),
    ("12.49", "20", "2.50"),
    ("0.02", "20", "0.00"),
    ("0.03", "20", "0.01"),
    ("0.12", "20", "0.02"),
    ("0.13", "20", "0.03"),
    ("1234.57", "20", "246.91"),
    ("49999.99", "20", "10000.00"),
    ("0.10", "5", "0.01"),
    ("9.99", "5", "0.50"),
    ("100.10", "5", "5.01"),
    ("33.33", "21", "7.00"),
    ("33.35", "23", "7.67"),
    ("0.05", "10", "0.01"),
]


@pytest.mark.parametrize(("net", "percent", "vat"), CASES)
def test_vat_of_a_line(net, percent, vat):
    assert vat_of(Decimal(net), Decimal(percent)) == Decimal(vat)


def test_three_lines_of_ten_pounds_three_differ_by_a_penny_by_level():
    lines = [(Decimal("10.03"), Decimal(20))] * 3

    assert total_price(lines, "line").vat == Decimal("6.03")
    assert total_price(lines, "invoice").vat == Decimal("6.02")
