"""Who gets what of something that is not enough for all: first come, first served; nothing counted twice."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TypeVar

Whom = TypeVar("Whom")

NONE = Decimal(0)


def shared_out(
    quantity: Decimal, wanted: Sequence[tuple[Whom, Decimal]]
) -> tuple[list[tuple[Whom, Decimal]], Decimal]:
    """Gives each in turn what it wants while there is some; returns what each gets and what is over.

    Quantities are in one unit. Who gets nothing is left out. Raises ValueError for a quantity below nothing.
    """
    if quantity < 0:
        raise ValueError("there can't be less than nothing to share out")
    got = []
    for whom, want in wanted:
        share = min(want, quantity)
        if share > 0:
            got.append((whom, share))
            quantity -= share
    return got, quantity
