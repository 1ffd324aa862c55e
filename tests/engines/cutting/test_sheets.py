"""Sheet layouts: every one can be sawn, nothing is dropped, more time is never worse."""

from __future__ import annotations

import itertools
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from builds.engines.cutting.cutter import cut_sheets
from builds.engines.cutting.errors import CuttingError
from builds.engines.cutting.layout import cuts_and_levels
from builds.engines.cutting.pieces import Part, SheetProblem, StockSheet

from .referee import can_be_parted, faults

FULL = StockSheet("full", 24400, 12200, cost=Decimal(60))


def ticking(step: float = 0.001):
    """A stopwatch that moves on at each look, so that a search ends after as many tries anywhere."""
    ticks = itertools.count()
    return lambda: next(ticks) * step


@st.composite
def problems(draw) -> SheetProblem:
    stock = [StockSheet("full", draw(st.integers(3000, 25000)), draw(st.integers(2000, 13000)))]
    if draw(st.booleans()):
        stock.append(StockSheet("rest", 9000, 4000, count=draw(st.integers(0, 2)), cost=Decimal("0.1")))
    parts = [
        Part(f"p{n}", draw(st.integers(1, 14000)), draw(st.integers(1, 9000)), draw(st.integers(1, 3)), turn)
        for n, turn in enumerate(draw(st.lists(st.booleans(), min_size=0, max_size=9)))
    ]
    runs = []
    if draw(st.booleans()):
        width = draw(st.integers(100, 3000))
        row = [Part(f"door{n}", draw(st.integers(100, 4000)), width) for n in range(draw(st.integers(1, 3)))]
        parts += row
        runs.append(tuple(part.key for part in row))
    kerf, trim = draw(st.sampled_from([0, 1, 30, 32])), draw(st.sampled_from([0, 50, 100]))
    return SheetProblem(tuple(parts), tuple(stock), kerf, trim, tuple(runs))


SEARCH_SECONDS, SEEDS = st.sampled_from([0.0, 0.08]), st.integers(1, 99)
LONG_ENOUGH_FOR_STRIPS, LOOKS = 4.0, 0.02


# The same two hundred every time, so that a run says something about the change; the long run explores.
@given(problem=problems(), seconds=SEARCH_SECONDS, seed=SEEDS)
@settings(max_examples=200, derandomize=True, deadline=None)
def test_any_layout_can_be_sawn_and_drops_nothing(problem, seconds, seed):
    layout = cut_sheets(problem, seconds=seconds, seed=seed, clock=ticking())

    assert faults(problem, layout) == []


@pytest.mark.prove
@given(problem=problems(), seconds=SEARCH_SECONDS, seed=SEEDS)
@settings(max_examples=10_000, deadline=None)
def test_ten_thousand_layouts_can_be_sawn_and_drop_nothing(problem, seconds, seed):
    layout = cut_sheets(problem, seconds=seconds, seed=seed, clock=ticking())

    assert faults(problem, layout) == []


@given(problem=problems(), seed=SEEDS)
@settings(max_examples=60, derandomize=True, deadline=None)
def test_any_layout_from_whole_strips_can_be_sawn_and_drops_nothing(problem, seed):
    layout = cut_sheets(problem, seconds=LONG_ENOUGH_FOR_STRIPS, seed=seed, clock=ticking(LOOKS))

    assert faults(problem, layout) == []


@pytest.mark.prove
@given(problem=problems(), seed=SEEDS)
@settings(max_examples=2_000, deadline=None)
def test_two_thousand_layouts_from_whole_strips_can_be_sawn_and_drop_nothing(problem, seed):
    layout = cut_sheets(problem, seconds=LONG_ENOUGH_FOR_STRIPS, seed=seed, clock=ticking(LOOKS))

    assert faults(problem, layout) == []


def test_a_search_names_a_part_that_fits_only_sheets_of_which_none_is_left():
    small = StockSheet("full", 3000, 2000)
    none_left = StockSheet("rest", 9000, 4000, count=0)
    problem = SheetProblem((Part("shelf", 8000, 3500),), (small, none_left), 30, 50)

    layout = cut_sheets(problem, seconds=0.08, clock=ticking())

    assert (layout.sheets, layout.unplaced) == ((), {"shelf": 1})


@given(problem=problems())
@settings(max_examples=40, derandomize=True, deadline=None)
def test_a_search_is_never_dearer_than_the_first_layout(problem):
    first = cut_sheets(problem)

    searched = cut_sheets(problem, seconds=0.1, clock=ticking())

    assert searched.cost <= first.cost


def test_a_part_as_large_as_its_sheet_is_found_by_the_strips_too():
    sheet = StockSheet("full", 6001, 2000)
    problem = SheetProblem((Part("door", 6001, 1999), Part("side", 5999, 2000)), (sheet,))

    layout = cut_sheets(problem, seconds=LONG_ENOUGH_FOR_STRIPS, clock=ticking(LOOKS))

    assert faults(problem, layout) == []


def test_the_same_seed_gives_the_same_layout():
    parts = tuple(Part(f"p{n}", 3000 + 400 * n, 2500 + 300 * n, 4, True) for n in range(6))
    problem = SheetProblem(parts, (FULL,), 30, 100)

    one, two = (cut_sheets(problem, seconds=0.3, seed=7, clock=ticking()) for _ in range(2))

    assert one == two


def test_four_quarters_fill_one_sheet_to_the_edge():
    quarter = Part("quarter", (24400 - 200 - 30) // 2, (12200 - 200 - 30) // 2, 4)
    problem = SheetProblem((quarter,), (FULL,), 30, 100)

    layout = cut_sheets(problem)

    assert (len(layout.sheets), layout.cuts, layout.levels) == (1, 3, 2)


def test_an_offcut_is_taken_before_a_full_sheet():
    rest = StockSheet("rest", 9000, 4000, count=1, cost=Decimal(5), is_offcut=True)

    layout = cut_sheets(SheetProblem((Part("shelf", 8000, 3500),), (FULL, rest), 30, 100))

    assert [sheet.stock for sheet in layout.sheets] == ["rest"]


def test_a_part_that_fits_nothing_is_named():
    problem = SheetProblem((Part("long", 25000, 1000), Part("shelf", 8000, 3500)), (FULL,), 30, 100)

    layout = cut_sheets(problem, seconds=0.05, clock=ticking())

    assert layout.unplaced == {"long": 1}
    assert len(layout.sheets) == 1


def test_a_part_across_the_grain_is_not_turned():
    layout = cut_sheets(SheetProblem((Part("side", 5000, 13000),), (FULL,), 30, 100))

    assert layout.unplaced == {"side": 1}


def test_no_parts_need_no_sheet():
    assert cut_sheets(SheetProblem((), (FULL,), 30, 100), seconds=1).sheets == ()


def test_a_search_over_a_single_small_part_ends():
    cheap = StockSheet("cheap", 24400, 12200, cost=Decimal(0))
    problem = SheetProblem((Part("chip", 500, 400),), (cheap,), 30, 100)

    layout = cut_sheets(problem, seconds=0.2, clock=ticking())

    assert len(layout.sheets) == 1


def test_a_search_can_be_stopped():
    parts = tuple(Part(f"p{n}", 7000 + 90 * n, 4000 + 70 * n, 3, True) for n in range(9))

    layout = cut_sheets(SheetProblem(parts, (FULL,), 30, 100), seconds=3600, should_stop=lambda: True)

    assert sum(len(sheet.pieces) for sheet in layout.sheets) == 27


def test_the_leftover_is_one_large_rectangle_after_a_search():
    parts = (Part("shelf", 6000, 4000, 9, True), Part("rail", 11000, 800, 6, True))
    problem = SheetProblem(parts, (FULL,), 30, 100)

    first, searched = cut_sheets(problem), cut_sheets(problem, seconds=1.5, clock=ticking())

    assert searched.largest_leftover >= first.largest_leftover


@pytest.mark.parametrize(
    ("part", "field"),
    [
        ({"length_tenths": 0}, "length"),
        ({"width_tenths": -1}, "width"),
        ({"length_tenths": 10**9}, "length"),
        ({"count": 0}, "count"),
        ({"count": 100_001}, "count"),
    ],
)
def test_sizes_that_can_not_be_are_refused_by_name(part, field):
    sizes = {"length_tenths": 100, "width_tenths": 100} | part

    with pytest.raises(CuttingError) as refusal:
        Part("shelf", **sizes)

    assert (refusal.value.subject, refusal.value.field) == ("shelf", field)


def test_a_sheet_smaller_than_its_trims_is_refused():
    with pytest.raises(CuttingError, match="no larger than its trims"):
        SheetProblem((), (StockSheet("chip", 200, 200),), 30, 100)


def test_pinwheels_are_not_parted_by_any_saw():
    pinwheel = [(0, 0, 2, 1), (2, 0, 1, 2), (1, 2, 2, 1), (0, 1, 1, 2)]

    assert not can_be_parted(pinwheel, 0)
    with pytest.raises(ValueError, match="no edge-to-edge cut"):
        cuts_and_levels(pinwheel, (0, 0, 3, 3), 0)
