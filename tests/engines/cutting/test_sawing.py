"""The order of cuts: as many as counted, each piece freed, rips before crosscuts where it costs nothing."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from builds.engines.cutting.cutter import cut_sheets
from builds.engines.cutting.sawing import saw_order

from .test_sheets import problems

BOX = (100, 100, 24300, 12100)


def pieces_after(cuts, box, kerf):
    """What lies on the bench after sawing, by cutting rectangles in two: an oracle of its own."""
    boards = [box]
    for cut in cuts:
        axis = 1 if cut.is_rip else 0
        for n, board in enumerate(boards):
            spans = (board[1 - axis], board[3 - axis]) == (cut.start, cut.end)
            if spans and board[axis] <= cut.at + kerf and cut.at <= board[axis + 2] and _is_in(cut, board):
                near, far = list(board), list(board)
                near[axis + 2], far[axis] = cut.at, cut.at + kerf
                boards[n : n + 1] = [tuple(b) for b in (near, far) if b[2] > b[0] and b[3] > b[1]]
                break
        else:
            raise AssertionError(f"{cut} cuts nothing that lies there")
    return boards


def _is_in(cut, board):
    strip = cut.strip
    return strip[0] >= board[0] and strip[1] >= board[1] and strip[2] <= board[2] and strip[3] <= board[3]


@given(problem=problems())
@settings(max_examples=200, derandomize=True, deadline=None)
def test_sawing_in_that_order_leaves_every_piece_on_the_bench(problem):
    layout = cut_sheets(problem)
    stock = {sheet.key: sheet for sheet in problem.stock}

    for sheet in layout.sheets:
        board, trim = stock[sheet.stock], problem.trim_tenths
        box = (trim, trim, board.length_tenths - trim, board.width_tenths - trim)
        rects = [(p.x, p.y, p.length, p.width) for p in sheet.pieces] + list(sheet.leftovers)
        cuts = saw_order(rects, box, problem.kerf_tenths)
        on_the_bench = pieces_after(cuts, box, problem.kerf_tenths)

        assert len(cuts) == sheet.cuts
        assert {(x, y, x + w, y + h) for x, y, w, h in rects} <= set(on_the_bench)
        assert [cut.level for cut in cuts] == sorted(cut.level for cut in cuts)


def test_strips_are_ripped_first_then_cut_across_then_trimmed():
    strip = [(100, 100, 6000, 4000), (6130, 100, 8000, 3500)]
    low = [(100, 4130, 24200, 2000)]

    cuts = saw_order(strip + low, BOX, 30)

    assert [(cut.level, cut.is_rip, cut.at, cut.size) for cut in cuts] == [
        (1, True, 4100, 4000),
        (1, True, 6130, 2000),
        (2, False, 6100, 6000),
        (2, False, 14130, 8000),
        (3, True, 3600, 0),
    ]


def test_a_piece_as_large_as_the_sheet_takes_no_cut():
    assert saw_order([(100, 100, 24200, 12000)], BOX, 30) == ()


def test_nothing_to_free_takes_no_cut():
    assert saw_order([], BOX, 30) == ()


def test_what_no_saw_can_part_is_refused():
    pinwheel = [(0, 0, 2, 1), (2, 0, 1, 2), (1, 2, 2, 1), (0, 1, 1, 2)]

    with pytest.raises(ValueError, match="no edge-to-edge cut"):
        saw_order(pinwheel, (0, 0, 3, 3), 0)
