"""What is to be cut and what it may be cut from: parts, runs of fronts, stock sheets."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from decimal import Decimal

from .errors import CuttingError
from .measures import MOST_PIECES, require_count, require_size

WIDEST_KERF_TENTHS = 1000  # 100 mm; a saw takes 2 to 4 mm, so anything near this is a slip of the hand


@dataclass(frozen=True, slots=True)
class Part:
    """`count` equal parts. `length_tenths` lies along the grain of the sheet unless `may_turn`."""

    key: str
    length_tenths: int
    width_tenths: int
    count: int = 1
    may_turn: bool = False
    name: str = ""

    def __post_init__(self) -> None:
        require_size(self.length_tenths, subject=self.key, field="length")
        require_size(self.width_tenths, subject=self.key, field="width")
        require_count(self.count, subject=self.key)


@dataclass(frozen=True, slots=True)
class StockSheet:
    """A size of sheet to cut from: `length_tenths` along the grain, `count` None for as many as needed.

    At equal cost an offcut is taken before a full sheet.
    """

    key: str
    length_tenths: int
    width_tenths: int
    count: int | None = None
    cost: Decimal = Decimal(1)
    is_offcut: bool = False

    def __post_init__(self) -> None:
        require_size(self.length_tenths, subject=self.key, field="length")
        require_size(self.width_tenths, subject=self.key, field="width")
        if self.count is not None:
            require_count(self.count, subject=self.key, least=0)
        if not self.cost.is_finite() or self.cost < 0 or self.cost > 10**7:
            raise CuttingError(
                "cost must be between 0 and 10 million", subject=self.key, field="cost", value=self.cost
            )
        if self.cost != round(self.cost, 4):
            raise CuttingError(
                "cost has more than four decimals", subject=self.key, field="cost", value=self.cost
            )


@dataclass(frozen=True, slots=True)
class LeftoverLimit:
    """The smallest rectangle that counts as a usable leftover, either way round."""

    long_tenths: int = 3000
    short_tenths: int = 1000

    def __post_init__(self) -> None:
        require_size(self.long_tenths, subject="leftover", field="long")
        require_size(self.short_tenths, subject="leftover", field="short")

    def keeps(self, length_tenths: int, width_tenths: int) -> bool:
        """Whether a rectangle of this size is usable."""
        short, long = sorted((length_tenths, width_tenths))
        return short >= self.short_tenths and long >= self.long_tenths


@dataclass(frozen=True, slots=True)
class SheetProblem:
    """Parts to cut from stock sheets with a kerf, after trimming every edge of a sheet.

    `runs` name parts cut side by side along the length, in order, one kerf apart, from one strip, so
    that the grain runs through a row of fronts. Raises CuttingError for input nobody can cut.
    """

    parts: tuple[Part, ...]
    stock: tuple[StockSheet, ...]
    kerf_tenths: int = 0
    trim_tenths: int = 0
    runs: tuple[tuple[str, ...], ...] = ()
    leftovers: LeftoverLimit = field(default_factory=LeftoverLimit)

    def __post_init__(self) -> None:
        if not 0 <= self.kerf_tenths <= WIDEST_KERF_TENTHS:
            raise CuttingError(
                "kerf must be between 0 and 100 mm", subject="saw", field="kerf", value=self.kerf_tenths
            )
        if self.trim_tenths < 0:
            raise CuttingError("trim can't be negative", subject="saw", field="trim", value=self.trim_tenths)
        _require_different("part", [part.key for part in self.parts])
        _require_different("sheet", [sheet.key for sheet in self.stock])
        if not self.stock:
            raise CuttingError("there is no sheet to cut from", field="sheets")
        if sum(part.count for part in self.parts) > MOST_PIECES:
            raise CuttingError("more than 100,000 parts", field="parts")
        for sheet in self.stock:
            if min(sheet.length_tenths, sheet.width_tenths) <= 2 * self.trim_tenths:
                raise CuttingError(
                    "the sheet is no larger than its trims",
                    subject=sheet.key,
                    field="trim",
                    value=self.trim_tenths,
                )
        self._require_sound_runs()

    def _require_sound_runs(self) -> None:
        parts = {part.key: part for part in self.parts}
        taken: set[str] = set()
        for run in self.runs:
            if not run:
                raise CuttingError("a run names no part", field="runs", value=run)
            for key in run:
                if key not in parts:
                    raise CuttingError("a run names an unknown part", subject=key, field="runs", value=run)
            if taken & set(run):
                raise CuttingError("a part is in two runs", subject=run[0], field="runs", value=run)
            taken |= set(run)
            if len({parts[key].width_tenths for key in run}) > 1:
                raise CuttingError(
                    "the parts of a run differ in width, so one strip can't give them",
                    subject=run[0],
                    field="runs",
                    value=run,
                )
            times = {parts[key].count / many for key, many in Counter(run).items()}
            if len(times) > 1 or times.pop() % 1:
                raise CuttingError(
                    "the counts of the parts don't make whole runs", subject=run[0], field="runs", value=run
                )

    @property
    def part_by_key(self) -> dict[str, Part]:
        return {part.key: part for part in self.parts}

    def run_times(self, run: tuple[str, ...]) -> int:
        """How many times the run is cut."""
        return self.part_by_key[run[0]].count // Counter(run)[run[0]]

    def usable_size(self, sheet: StockSheet) -> tuple[int, int]:
        """Length and width inside the trims, in tenths."""
        return sheet.length_tenths - 2 * self.trim_tenths, sheet.width_tenths - 2 * self.trim_tenths


def _require_different(what: str, keys: list[str]) -> None:
    for key, times in Counter(keys).items():
        if times > 1:
            raise CuttingError(f"two {what}s have the same key", subject=key, field="key", value=key)
