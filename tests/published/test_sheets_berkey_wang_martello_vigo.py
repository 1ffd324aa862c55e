"""Two published lists of rectangles, turned freely, from square sheets, against the best known number.

Sources: J. O. Berkey and P. Y. Wang, "Two-dimensional finite bin-packing algorithms", JORS 38 (1987),
class 1, 20 items, first instance: 7 sheets; S. Martello and D. Vigo, "Exact solution of the
two-dimensional finite bin packing problem", Management Science 44 (1998), class 7, 20 items, first
instance: 5 sheets. Best known for three-stage guillotine cutting with rotation. Exact.
"""

from __future__ import annotations

import itertools

import pytest

from builds.engines.cutting.cutter import cut_sheets
from builds.engines.cutting.pieces import Part, SheetProblem, StockSheet

CLASS_1 = [
    (5, 9), (4, 2), (10, 6), (5, 7), (6, 3), (10, 7), (1, 5), (3, 5), (6, 9), (2, 4),
    (6, 7), (7, 2), (8, 3), (4, 10), (4, 5), (10, 3), (8, 3), (7, 8), (8, 3), (8, 7),
]  # fmt: skip
CLASS_7 = [
    (56, 75), (98, 27), (74, 24), (99, 34), (80, 1), (84, 43), (88, 6), (89, 6), (98, 38), (78, 21),
    (75, 49), (31, 93), (90, 37), (21, 73), (71, 4), (93, 35), (89, 48), (90, 12), (13, 79), (10, 42),
]  # fmt: skip


def ticking():
    ticks = itertools.count()
    return lambda: next(ticks) * 0.001


@pytest.mark.parametrize(("side", "items", "best_known"), [(10, CLASS_1, 7), (100, CLASS_7, 5)])
def test_the_best_known_number_of_sheets_is_met(side, items, best_known):
    parts = tuple(Part(f"p{n}", 10 * w, 10 * h, may_turn=True) for n, (w, h) in enumerate(items))
    problem = SheetProblem(parts, (StockSheet("square", 10 * side, 10 * side),))

    layout = cut_sheets(problem, seconds=6, clock=ticking())

    assert len(layout.sheets) == best_known
