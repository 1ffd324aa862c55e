"""Lists in files: the first line names the columns, each error is told by line and column, all or nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from builds.exchange.csv_files import Cells, CsvErrors, read_csv
from builds.queries.price_lists import ListError

MOST_ERRORS = 50


@dataclass(frozen=True)
class Column:
    """One column of a file: its head, the field it fills, and what may stand in it."""

    head: str
    field: str
    says: str
    is_needed: bool = False


class UnreadableList(ValueError):
    """A list that can't be read; `errors` say where and why, fifty at most."""

    def __init__(self, errors: Iterable[ListError]) -> None:
        self.errors = tuple(errors)[:MOST_ERRORS]
        super().__init__("; ".join(str(error) for error in self.errors))


def lines_of(text: str, *, most: int, parted_by: str = ",") -> list[Cells]:
    """The records of a file, the heads first. Raises UnreadableList where it is none, or is empty."""
    try:
        lines = read_csv(text, most=most, parted_by=parted_by)
    except CsvErrors as error:
        raise UnreadableList([ListError(error.line, error.column, error.words)]) from None
    if not lines:
        raise UnreadableList([ListError(1, None, "There is nothing in it.")])
    return lines


def fields_of(first: Cells, columns: Sequence[Column]) -> dict[str, int]:
    """Field to column (from 0), by the line of heads; refuses unknown and double ones, and missing."""
    known = {column.head.casefold(): column for column in columns}
    found: dict[str, int] = {}
    errors = []
    for at, cell in enumerate(first.cells):
        column = known.get(" ".join(cell.split()).casefold())
        if column is None:
            errors.append(ListError(first.line, at + 1, _unknown(cell, columns)))
        elif column.field in found:
            errors.append(ListError(first.line, at + 1, f"The column “{cell.strip()}” stands there twice."))
        else:
            found[column.field] = at
    missing = [column.head for column in columns if column.is_needed and column.field not in found]
    if not errors and missing:
        errors.append(ListError(first.line, None, f"A column is missing: {', '.join(missing)}."))
    if errors:
        raise UnreadableList(errors)
    return found


def _unknown(cell: str, columns: Sequence[Column]) -> str:
    if ";" in cell:
        return "The columns are parted by semicolons. Save the file with commas."
    return f"“{cell.strip()[:40]}” is no column here. Known are {', '.join(c.head for c in columns)}."


def text_of(most: int) -> Callable[[str], str]:
    def read(text: str) -> str:
        if len(text) > most:
            raise ValueError(f"That is longer than {most} letters.")
        return text

    return read


def whole_of(least: int, most: int) -> Callable[[str], int | None]:
    def read(text: str) -> int | None:
        if not text:
            return None
        if not (text.isascii() and text.isdigit() and len(text) < 7 and least <= int(text) <= most):
            raise ValueError(f"“{text[:30]}” is not a whole number from {least} to {most}.")
        return int(text)

    return read
