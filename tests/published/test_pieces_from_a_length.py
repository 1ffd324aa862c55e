"""How many equal pieces a length gives, and why longest first is not enough.

Sources: pieces = floor((W + k) / (p + k)) for pieces p from W with a kerf k: 2440 mm into 400 mm with
a kerf of 3.2 mm gives 6 (arithmetic). The bound of column generation: P. C. Gilmore and R. E. Gomory,
Operations Research 9 (1961). Exact.
"""

from __future__ import annotations

import pytest

from builds.engines.cutting.lengths import cut_lengths


@pytest.mark.parametrize(("stock", "kerf", "piece"), [(24400, 32, 4000), (24000, 30, 3000), (30000, 0, 7000)])
def test_equal_pieces_from_one_length(stock, kerf, piece):
    many = (stock + kerf) // (piece + kerf)

    assert len(cut_lengths(stock, kerf, [piece] * many).lengths) == 1
    assert len(cut_lengths(stock, kerf, [piece] * (many + 1)).lengths) == 2


def test_a_sheet_length_of_2440_gives_six_pieces_of_400():
    assert [len(length) for length in cut_lengths(24400, 32, [4000] * 7).lengths] == [6, 1]
