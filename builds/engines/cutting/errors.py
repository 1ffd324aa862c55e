"""The one root error of the cutting engine."""

from __future__ import annotations


class CuttingError(ValueError):
    """Input that can't be cut as it stands: `subject` names the thing, `field` what is wrong with it.

    `subject` is the key of a part, sheet, run or length ("" for the whole problem), `field` the name of
    the value ("length", "kerf" ...), `value` what was given, `reason` a plain sentence for the reader.
    """

    def __init__(self, reason: str, *, subject: str = "", field: str = "", value: object = None) -> None:
        super().__init__(f"{subject}: {reason}" if subject else reason)
        self.reason = reason
        self.subject = subject
        self.field = field
        self.value = value
