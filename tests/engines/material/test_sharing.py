"""Sharing out what is not enough: first come, first served."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builds.engines.material.offcuts import LeastSizes, is_worth_keeping
from builds.engines.material.sharing import shared_out

amounts = st.decimals(min_value=0, max_value=1000, places=3)


@given(amounts, st.lists(amounts, max_size=8))
def test_nothing_is_lost_and_nobody_gets_more_than_wanted(quantity, wanted):
    got, over = shared_out(quantity, list(enumerate(wanted)))

    assert sum((share for _, share in got), over) == quantity
    assert all(0 < share <= wanted[whom] for whom, share in got)
    assert over == max(Decimal(0), quantity - sum(wanted, Decimal(0)))


def test_the_first_gets_all_it_wants():
    got, over = shared_out(Decimal(5), [("Heron", Decimal(3)), ("Teal", Decimal(4)), ("Kestrel", Decimal(1))])

    assert got == [("Heron", Decimal(3)), ("Teal", Decimal(2))]
    assert over == 0


def test_less_than_nothing_can_not_be_shared():
    with pytest.raises(ValueError, match="less than nothing"):
        shared_out(Decimal(-1), [])


@pytest.mark.parametrize(
    ("length", "width", "kept"),
    [
        (400, 150, True),
        (150, 400, True),
        (399, 399, False),
        (2000, 149, False),
        (500, None, True),
        (499, None, False),
    ],
)
def test_a_rest_is_kept_by_its_longer_and_its_shorter_side(length, width, kept):
    assert is_worth_keeping(length, width, LeastSizes(400, 150, 500)) is kept
