"""CSV by RFC 4180: written so that no spreadsheet runs a cell, read with line and column of each error."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

RUNS_AS_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def csv_text(rows: Iterable[Sequence[object]]) -> str:
    """The rows as CSV text with CRLF; text that a spreadsheet would run as a formula gets an apostrophe."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerows([harmless(cell) for cell in row] for row in rows)
    return out.getvalue()


def harmless(cell: object) -> object:
    """A cell that a spreadsheet takes as text; numbers stay numbers."""
    if isinstance(cell, str) and cell.startswith(RUNS_AS_FORMULA):
        return f"'{cell}"
    return cell
