"""Reads the library's CSV files into typed rows; a bad cell is named by file, line and column."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar

from builds.engines.composing.standard import (
    InstallationKind,
    Scope,
    StandardLink,
    StandardTask,
    StandardWork,
    UnitKind,
)

HERE = Path(__file__).parent
T = TypeVar("T")


class LibraryError(ValueError):
    """A cell of a library file that can't be read: `file`, `line` (1 is the header) and `column`."""

    def __init__(self, file: str, line: int, column: str, words: str) -> None:
        super().__init__(f"{file}, line {line}, column {column}: {words}")
        self.file, self.line, self.column = file, line, column


@dataclass(frozen=True)
class Row:
    """One line of a library file; cells are read by name and kind."""

    file: str
    line: int
    cells: dict[str, str]

    def text(self, column: str, *, needed: bool = False) -> str:
        value = self.cells.get(column)
        if value is None or (needed and not value.strip()):
            raise self._wrong(column, "is missing")
        return value.strip()

    def number(self, column: str) -> float:
        return self._as(column, float, "is no number")

    def whole(self, column: str) -> int:
        return self._as(column, int, "is no whole number")

    def whole_or_none(self, column: str) -> int | None:
        return self.whole(column) if self.text(column) else None

    def number_or_none(self, column: str) -> float | None:
        return self.number(column) if self.text(column) else None

    def yes(self, column: str) -> bool:
        word = self.text(column)
        if word not in ("yes", "no"):
            raise self._wrong(column, f"must be yes or no, not “{word}”")
        return word == "yes"

    def names(self, column: str) -> tuple[str, ...]:
        return tuple(part.strip() for part in self.text(column).split("|") if part.strip())

    def sizes(self, column: str) -> tuple[int, int, int]:
        parts = self.text(column).split("x")
        try:
            width, depth, height = (int(part) for part in parts)
        except ValueError:
            raise self._wrong(column, "must be width x depth x height in whole mm") from None
        return width, depth, height

    def one_of(self, column: str, known: tuple[str, ...]) -> str:
        word = self.text(column)
        if word not in known:
            raise self._wrong(column, f"“{word}” is none of {', '.join(known)}")
        return word

    def _as(self, column: str, kind: Callable[[str], T], words: str) -> T:
        try:
            return kind(self.text(column))
        except ValueError as error:
            if isinstance(error, LibraryError):
                raise
            raise self._wrong(column, f"“{self.text(column)}” {words}") from None

    def _wrong(self, column: str, words: str) -> LibraryError:
        return LibraryError(self.file, self.line, column, words)


def rows(name: str, folder: Path = HERE) -> Iterator[Row]:
    """The rows of `name`.csv in order (RFC 4180, one header row)."""
    with (folder / f"{name}.csv").open(newline="", encoding="utf-8") as file:
        reader = csv.DictReader(file, restval=None, restkey="")
        for cells in reader:
            if "" in cells:
                raise LibraryError(f"{name}.csv", reader.line_num, "", "has more cells than the header")
            yield Row(f"{name}.csv", reader.line_num, cells)


@lru_cache(maxsize=1)
def standard_work() -> StandardWork:
    """All standard kinds, tasks and links of the library. Raises LibraryError."""
    return read_standard_work(HERE)


def read_standard_work(folder: Path) -> StandardWork:
    units = {row.text("key"): _unit_kind(row) for row in rows("units", folder)}
    installations = {row.text("key"): _installation(row) for row in rows("installations", folder)}
    closing = _closing_up(folder)
    tasks = {row.text("key"): _task(row, n, closing) for n, row in enumerate(rows("tasks", folder))}
    links = tuple(_link(row, tasks) for row in rows("links", folder))
    return StandardWork(unit_kinds=units, installations=installations, tasks=tasks, links=links)


@lru_cache(maxsize=1)
def hold_points() -> tuple[dict[str, Any], ...]:
    """The standard checks with their fields and limits, in the order a build meets them."""
    return tuple(json.loads((HERE / "hold_points.json").read_text(encoding="utf-8")))


def _unit_kind(row: Row) -> UnitKind:
    width, depth, height = row.sizes("usual")
    return UnitKind(
        key=row.text("key", needed=True),
        name=row.text("name", needed=True),
        made_as=row.one_of("made_as", ("carcass", "panels", "fronts", "top", "kit", "wet")),
        width_mm=width,
        depth_mm=depth,
        height_mm=height,
        min_mm=row.sizes("least"),
        max_mm=row.sizes("most"),
        work=row.number("work"),
        board=row.text("board"),
        board_share=row.number("board_share"),
        coated_faces=row.whole("coated_faces"),
    )


def _installation(row: Row) -> InstallationKind:
    return InstallationKind(
        key=row.text("key", needed=True),
        name=row.text("name", needed=True),
        picked=row.yes("picked"),
        needs=row.names("needs"),
        counted_in=row.text("counted_in"),
        usual_count=row.whole("usual_count"),
        explanation=row.text("explanation"),
    )


def scope_of(words: str) -> Scope:
    """Reads "van", "unit:*", "installation:gas", "made:carcass|panels", "any_of:solar|charging"."""
    how, _, names = words.partition(":")
    return Scope(how=how, names=tuple(n for n in names.split("|") if n))


def _closing_up(folder: Path) -> frozenset[str]:
    """The tasks that close up what is behind them; photos are asked for before they start."""
    if not (folder / "closing_up.csv").exists():
        return frozenset()
    return frozenset(row.text("task", needed=True) for row in rows("closing_up", folder))


def _task(row: Row, order: int, closing_up: frozenset[str] = frozenset()) -> StandardTask:
    scope = scope_of(row.text("scope", needed=True))
    if scope.how not in ("van", "furniture", "any_of", "installation", "unit", "made"):
        raise LibraryError(row.file, row.line, "scope", f"“{scope.how}” is no scope")
    return StandardTask(
        key=row.text("key", needed=True),
        name=row.text("name", needed=True),
        scope=scope,
        only_with=row.names("only_with"),
        phase=row.text("phase", needed=True),
        trade=row.text("trade", needed=True),
        place=row.text("place", needed=True),
        crew=row.whole("crew"),
        hours_low=row.number("hours_low"),
        hours_likely=row.number("hours_likely"),
        hours_high=row.number("hours_high"),
        scaled=row.yes("scaled_by_unit"),
        same_day=row.yes("same_day"),
        needs_van=row.yes("needs_van"),
        claims_van=row.yes("claims_van"),
        closes_up=row.text("key") in closing_up,
        dries_here_hours=row.number("dries_here_hours"),
        rack_hours=row.number("rack_hours"),
        still_hours=row.number("still_hours"),
        hold_point=row.text("hold_point"),
        reminder=row.text("reminder"),
        caution=row.text("caution"),
        lead_time=row.text("lead_time"),
        why=row.text("why"),
        basis=row.text("basis", needed=True),
        order=order,
    )


def _link(row: Row, tasks: dict[str, StandardTask]) -> StandardLink:
    for column in ("before", "after"):
        if row.text(column) not in tasks:
            raise LibraryError(row.file, row.line, column, f"there is no task “{row.text(column)}”")
    return StandardLink(
        before=row.text("before"),
        after=row.text("after"),
        wait_hours=row.number("wait_hours"),
        latest_hours=row.number_or_none("latest_hours"),
        cure=row.text("cure"),
        match=row.one_of("match", ("own", "every")),
        before_units=row.names("before_units"),
        why=row.text("why"),
    )
