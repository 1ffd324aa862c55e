"""CSV by RFC 4180: written so that no spreadsheet runs a cell, read with line and column of each error."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

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


@dataclass(frozen=True)
class Cells:
    """One record, and the line of the text that it begins in, from 1."""

    line: int
    cells: tuple[str, ...]


class CsvErrors(ValueError):
    """Text that is no CSV: where, and in plain words why."""

    def __init__(self, line: int, column: int | None, words: str) -> None:
        super().__init__(words)
        self.line, self.column, self.words = line, column, words


def read_csv(text: str, *, most: int, parted_by: str = ",") -> list[Cells]:
    """The records of RFC 4180 text, empty lines left out; a byte order mark is passed over.

    `parted_by` is another mark between cells: spreadsheets copy cells with tabs.

    Raises CsvErrors where a quote is not closed or stands inside a cell, or with more than `most` records.
    """
    text = text.removeprefix("\ufeff")
    if "\0" in text:
        line = text[: text.index("\0")].count("\n") + 1
        raise CsvErrors(line, None, "This is no text file. Save it as CSV.")
    reader = csv.reader(io.StringIO(text, newline=""), strict=True, delimiter=parted_by)
    found: list[Cells] = []
    line = 1
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                found.append(Cells(line, tuple(row)))
            if len(found) > most + 1:
                raise CsvErrors(line, None, f"More than {most:,} lines. Take it in parts.")
            line = reader.line_num + 1
    except csv.Error as error:
        words = "A quotation mark is not closed, or stands inside a cell. Inside quotes it is written twice."
        if "field larger" in str(error):
            words = "A cell of it is far too long. Is a quotation mark not closed?"
        raise CsvErrors(line, None, words) from None
    return found


def as_meant(cell: str) -> str:
    """A cell without the apostrophe that `harmless` put before what a spreadsheet would run."""
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(RUNS_AS_FORMULA) else cell
