"""When hours taken say something, and what they suggest."""

from __future__ import annotations

import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builds.engines.learning.hours import median_interval, quantile, suggested, taken

PLANNED = (3.0, 4.0, 6.0)


def test_four_cases_say_nothing_however_far_off():
    assert not taken([2.0, 2.1, 2.2, 2.3]).says_other


def test_five_cases_on_one_side_do():
    assert taken([1.2, 1.3, 1.4, 1.5, 1.6]).says_other


def test_cases_on_both_sides_of_the_plan_dont():
    assert not taken([0.8, 1.3, 1.4, 1.5, 1.6]).says_other


def test_one_odd_case_of_ten_does_not_silence_the_others():
    assert taken([0.6, 1.3, 1.3, 1.4, 1.4, 1.5, 1.5, 1.6, 1.7, 1.8]).says_other


def test_a_difference_that_quarter_hours_hide_is_left_alone():
    assert not taken([1.03, 1.04, 1.05, 1.06, 1.07, 1.08]).says_other


def test_the_suggestion_is_the_middle_with_eight_of_ten_around_it():
    found = taken([1.0, 1.25, 1.5, 1.75, 2.0, 2.25])

    low, likely, high = suggested(PLANNED, found)

    assert likely == pytest.approx(4 * 1.625, abs=0.126)
    assert (low, high) == (4.5, 8.5)


def test_cases_all_alike_still_leave_half_the_usual_spread():
    low, likely, high = suggested(PLANNED, taken([1.5] * 6))

    assert (low, likely, high) == (5.25, 6.0, 7.5)


def test_nothing_to_learn_from_is_an_error():
    with pytest.raises(ValueError, match="at least one"):
        taken([])
    with pytest.raises(ValueError, match="positive"):
        taken([1.0, 0.0])


@given(st.lists(st.floats(0.05, 20), min_size=1, max_size=40), st.sampled_from([PLANNED, (0.25, 0.25, 0.25)]))
def test_any_suggestion_is_in_order_and_takes_time(ratios, planned):
    low, likely, high = suggested(planned, taken(ratios))

    assert 0.25 <= low <= likely <= high


@given(st.lists(st.floats(0.05, 20), min_size=2, max_size=40))
def test_the_quantiles_are_those_of_the_standard_library(ratios):
    rows = sorted(ratios)

    assert quantile(rows, 0.5) == pytest.approx(statistics.median(rows))
    tenths = statistics.quantiles(rows, n=10, method="inclusive")
    assert (quantile(rows, 0.1), quantile(rows, 0.9)) == pytest.approx((tenths[0], tenths[-1]))


def test_the_interval_of_the_median_holds_it_as_often_as_it_says():
    """Sign-test ranks of textbook tables at 95 %: 9 cases 2nd to 8th, 10 2nd to 9th, 20 6th to 15th.

    From memory; each is 1 - 2 P(Bin(n, 1/2) < k), computed: 0.9609, 0.9785, 0.9586.
    """
    for n, k in ((9, 2), (10, 2), (20, 6)):
        rows = list(range(1, n + 1))
        assert median_interval(rows, 0.95) == (k, n + 1 - k)
    assert median_interval([1, 2, 3, 4, 5], 0.95) is None
