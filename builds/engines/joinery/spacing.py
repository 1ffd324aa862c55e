"""Even gaps: doors in a run, shelves in a bay, slats on a bed."""

from __future__ import annotations

from .errors import JoineryError, mm


def even_sizes(
    total: int, many: int, gap: int, *, ends: bool, what: str, field: str
) -> tuple[int, list[int]]:
    """The largest equal size of `many` with at least `gap` between them, and to the ends with `ends`.

    Gives the size and the gaps from left to right. What does not divide goes into the gaps, so they
    differ by a tenth of a millimetre at most. Refuses where nothing would be left of a size.
    """
    gaps = many + 1 if ends else many - 1
    size, rest = divmod(total - gaps * gap, many)
    if size <= 0:
        raise JoineryError(
            f"{many} {what} with gaps of {mm(gap)} would be {mm(size)} each: "
            f"{mm(total)} is too little for them.",
            field=field,
        )
    if not gaps:
        return size, []
    return size, [gap + extra for extra in _shared_out(rest, gaps)]


def even_gaps(total: int, taken: int, gaps: int) -> list[int]:
    """The space left beside what is `taken`, shared over so many gaps to a tenth of a millimetre."""
    return _shared_out(total - taken, gaps)


def _shared_out(rest: int, over: int) -> list[int]:
    """A number in so many whole shares that differ by one at most, the larger ones spread out."""
    return [rest * (n + 1) // over - rest * n // over for n in range(over)]


def starts(first: int, size: int, gaps: list[int], *, ends: bool) -> list[int]:
    """Where each of the equal sizes begins."""
    found = []
    at = first
    inner = gaps if ends else [0, *gaps]
    for gap in inner[:-1] if ends else inner:
        at += gap
        found.append(at)
        at += size
    return found
