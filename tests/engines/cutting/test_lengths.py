"""Pieces from lengths: nothing is joined or dropped, and the fewest lengths are proven."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from builds.engines.cutting.errors import CuttingError
from builds.engines.cutting.lengths import cut_lengths

piece_lists = st.lists(st.integers(1, 26000), max_size=30)


@given(pieces=piece_lists, kerf=st.sampled_from([0, 20, 30]))
@settings(max_examples=200, derandomize=True, deadline=None)
def test_every_piece_is_cut_once_and_fits_with_its_kerfs(pieces, kerf):
    cut = cut_lengths(24000, kerf, pieces)

    assert Counter([p for length in cut.lengths for p in length]) + Counter(cut.unplaced) == Counter(pieces)
    assert all(sum(length) + kerf * (len(length) - 1) <= 24000 for length in cut.lengths)
    assert all(piece > 24000 for piece in cut.unplaced)
    assert cut.bound <= len(cut.lengths)


@pytest.mark.prove
@given(pieces=piece_lists, kerf=st.sampled_from([0, 20, 30]))
@settings(max_examples=10_000, deadline=None)
def test_ten_thousand_lists_are_cut_whole(pieces, kerf):
    cut = cut_lengths(24000, kerf, pieces)

    assert Counter([p for length in cut.lengths for p in length]) + Counter(cut.unplaced) == Counter(pieces)
    assert all(sum(length) + kerf * (len(length) - 1) <= 24000 for length in cut.lengths)
    assert cut.bound <= len(cut.lengths)


def fewest_by_trying(pieces: list[int], room: int) -> int:
    """The fewest lengths by trying every way; for a handful of pieces only."""
    best = len(pieces)

    def go(at: int, left: list[int]) -> None:
        nonlocal best
        if len(left) >= best:
            return
        if at == len(pieces):
            best = len(left)
            return
        for n in range(len(left)):
            if pieces[at] <= left[n]:
                left[n] -= pieces[at]
                go(at + 1, left)
                left[n] += pieces[at]
        go(at + 1, [*left, room - pieces[at]])

    go(0, [])
    return best


@given(pieces=st.lists(st.integers(3000, 13000), min_size=1, max_size=7), kerf=st.sampled_from([0, 30]))
@settings(max_examples=200, derandomize=True, deadline=None)
def test_no_way_of_cutting_takes_fewer_lengths(pieces, kerf):
    cut = cut_lengths(24000, kerf, pieces)

    assert len(cut.lengths) == fewest_by_trying([p + kerf for p in pieces], 24000 + kerf)


def test_what_longest_first_wastes_is_found_and_proven():
    # 6 + 2 + 2 and 4 + 3 + 3 fill two lengths of ten; longest first takes three
    pieces = [600, 400, 300, 300, 200, 200]

    cut = cut_lengths(1000, 0, pieces)

    assert (len(cut.lengths), cut.bound, cut.is_proven) == (2, 2, True)


def test_a_piece_longer_than_the_stock_is_named_and_never_joined():
    cut = cut_lengths(24000, 30, [25000, 1000])

    assert (cut.unplaced, cut.lengths) == ((25000,), ((1000,),))


def test_nothing_takes_nothing():
    assert cut_lengths(24000, 30, []).lengths == ()


@pytest.mark.parametrize(("stock", "kerf", "pieces"), [(0, 30, [1]), (24000, -1, [1]), (24000, 30, [0])])
def test_sizes_of_nothing_are_refused(stock, kerf, pieces):
    with pytest.raises(CuttingError):
        cut_lengths(stock, kerf, pieces)
