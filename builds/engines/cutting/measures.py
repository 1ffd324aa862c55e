"""Millimetres to whole tenths and back, exactly: 388.5 mm is 3885, never 3884.9999."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

from .errors import CuttingError

LONGEST_TENTHS = 1_000_000  # 100 m: longer than any sheet, batten or coil of a workshop
MOST_PIECES = 100_000


def tenths(mm: int | float | str | Decimal, *, subject: str = "", field: str = "size") -> int:
    """Whole tenths of a millimetre for a size in millimetres.

    Raises CuttingError for what is not a number, is finer than a tenth, or beyond 100 m.
    """
    if isinstance(mm, bool):
        raise CuttingError(f"{field} is not a number", subject=subject, field=field, value=mm)
    try:
        exact = Decimal(str(mm)) * 10
    except InvalidOperation:
        raise CuttingError(f"{field} is not a number", subject=subject, field=field, value=mm) from None
    if not exact.is_finite() or abs(exact) > LONGEST_TENTHS:
        raise CuttingError(f"{field} is beyond 100 m", subject=subject, field=field, value=mm)
    if exact != exact.to_integral_value():
        raise CuttingError(
            f"{field} is finer than a tenth of a millimetre", subject=subject, field=field, value=mm
        )
    return int(exact)


def millimetres(size_tenths: int) -> int | float:
    """The size in millimetres, a whole number where it is one."""
    whole, rest = divmod(size_tenths, 10)
    return size_tenths / 10 if rest else whole


def require_size(size_tenths: int, *, subject: str, field: str) -> None:
    """Refuse a size of nothing or less, or beyond 100 m."""
    if not isinstance(size_tenths, int) or isinstance(size_tenths, bool):
        raise CuttingError(f"{field} is not whole tenths", subject=subject, field=field, value=size_tenths)
    if size_tenths <= 0:
        raise CuttingError(
            f"{field} must be more than nothing", subject=subject, field=field, value=size_tenths
        )
    if size_tenths > LONGEST_TENTHS:
        raise CuttingError(f"{field} is beyond 100 m", subject=subject, field=field, value=size_tenths)


def require_count(count: int, *, subject: str, least: int = 1) -> None:
    """Refuse a count that is no whole number, below `least`, or beyond a hundred thousand."""
    if not isinstance(count, int) or isinstance(count, bool) or count < least:
        raise CuttingError(
            f"count must be a whole number, {least} or more", subject=subject, field="count", value=count
        )
    if count > MOST_PIECES:
        raise CuttingError("count is beyond 100,000", subject=subject, field="count", value=count)
