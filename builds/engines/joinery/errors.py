"""The one root error of the joinery engine, and sizes in words."""

from __future__ import annotations


class JoineryError(ValueError):
    """A unit that can't be made as asked: `reason` is a plain sentence, `field` the choice it belongs to."""

    def __init__(self, reason: str, *, field: str = "") -> None:
        super().__init__(reason)
        self.reason = reason
        self.field = field


def mm(tenths: int) -> str:
    """A size as it is read: "560 mm", "388.5 mm", "1,200 mm"."""
    whole, rest = divmod(abs(tenths), 10)
    sign = "-" if tenths < 0 else ""
    return f"{sign}{whole:,}{f'.{rest}' if rest else ''} mm"
