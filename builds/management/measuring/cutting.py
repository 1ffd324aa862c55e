"""Sheets and lengths: published problems and workshop lists against best known values and goals.

The problems and the referee are the shared ones; each layout is written to a file and given to it.
"""

from __future__ import annotations

import csv
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from builds.engines.cutting.cutter import cut_sheets
from builds.engines.cutting.layout import Layout
from builds.engines.cutting.lengths import cut_lengths
from builds.engines.cutting.pieces import SheetProblem
from builds.exchange.cutting_files import LengthsProblem, read_cutting_list, write_layout
from builds.management.measuring.bench import bench_data, refused_by
from builds.management.measuring.figures import Figure

LISTS = ("ply12", "ply15", "front12", "mdf6")
BOUNDS = dict(zip(LISTS, (5, 3, 2, 3), strict=True))
LEFTOVERS = dict(zip(LISTS, (2.00, 1.34, 1.79, 1.74), strict=True))
CUTS = dict(zip(LISTS, (92, 32, 69, 23), strict=True))
EQUAL_SHARE, MOST_MORE = 43 / 50, 694 / 686
FIVE_VANS_SECONDS, DENSE_SECONDS = 60.0, 60.0


@dataclass
class _Bench:
    """The problems, and how many layouts the referee has seen and refused."""

    folder: Path
    seen: int = 0
    refused: list[str] = field(default_factory=list)

    def cut(self, name: str, seconds: float) -> tuple[Layout, float]:
        """The layout of a problem, and the seconds it took to find."""
        path = self.folder / "cutting" / f"{name}.json"
        problem = read_cutting_list(path)
        assert isinstance(problem, SheetProblem)
        since = time.perf_counter()
        layout = cut_sheets(problem, seconds=seconds)
        taken = time.perf_counter() - since
        with tempfile.TemporaryDirectory() as own:
            out = Path(own) / "layout.json"
            write_layout(out, layout)
            self.seen += 1
            if refused_by(self.folder / "check_layout.py", path, out):
                self.refused.append(name)
        return layout, taken


def measure_cutting(*, whole: bool = False) -> Iterator[Figure]:
    """Every figure of cutting; without `whole` every other published problem, and no dense ones."""
    folder = bench_data()
    if folder is None:
        return
    bench = _Bench(folder)
    yield from _published(bench, step=1 if whole else 2)
    yield from _one_van(bench)
    yield from _five_vans(bench)
    if whole:
        for name in ("dense3", "denseU"):
            layout, _ = bench.cut(name, DENSE_SECONDS)
            yield Figure(f"{name}, 60 s", len(layout.sheets), "sheets", 9)
    bench.cut("mixed", 3)
    yield from _lengths(folder)
    yield Figure(f"layouts refused by the referee, of {bench.seen}", len(bench.refused), "", 0)


def _best_known(path: Path) -> dict[str, int]:
    with path.open(newline="") as file:
        return {row[0]: int(row[1]) for row in list(csv.reader(file))[1:] if row[1]}


def _published(bench: _Bench, step: int) -> Iterator[Figure]:
    best = _best_known(bench.folder / "cutting" / "best_known.csv")
    names = sorted(name for name in best if name.startswith("2bp"))[::step]
    sheets = [len(bench.cut(name, 1)[0].sheets) for name in names]
    equal = sum(cut <= best[name] for name, cut in zip(names, sheets, strict=True))
    known, many = sum(best[name] for name in names), len(names)
    yield Figure(
        f"published lists, 1 s each: equal to best known, of {many}",
        equal,
        "lists",
        round(EQUAL_SHARE * many),
        at_least=True,
    )
    yield Figure(
        f"published lists: sheets, best known {known}", sum(sheets), "sheets", int(known * MOST_MORE)
    )


def _one_van(bench: _Bench) -> Iterator[Figure]:
    for name in LISTS:
        first, taken = bench.cut(f"van1_{name}", 0)
        yield Figure(f"one van {name}: first layout", len(first.sheets), "sheets", BOUNDS[name])
        yield Figure(f"one van {name}: first layout after", taken * 1000, "ms", 100)
    for name in LISTS:
        layout, _ = bench.cut(f"van1_{name}", 3)
        leftover = round(layout.largest_leftover / 1e8, 2)
        yield Figure(f"one van {name}, 3 s: largest leftover", leftover, "m2", LEFTOVERS[name], at_least=True)
        yield Figure(f"one van {name}, 3 s: saw cuts", layout.cuts, "cuts", CUTS[name])
        yield Figure(f"one van {name}, 3 s: levels of cutting", layout.levels, "levels", 3)


def _five_vans(bench: _Bench) -> Iterator[Figure]:
    layouts = [bench.cut(f"van5_{name}", FIVE_VANS_SECONDS / len(LISTS))[0] for name in LISTS]
    yield Figure("five vans, 60 s in all", sum(len(layout.sheets) for layout in layouts), "sheets", 55)
    unplaced = sum(sum(layout.unplaced.values()) for layout in layouts)
    yield Figure("five vans: parts that found no sheet", unplaced, "parts", 0)


def _lengths(folder: Path) -> Iterator[Figure]:
    best = _best_known(folder / "lengths" / "best_known.csv")
    for name, fewest in best.items():
        problem = read_cutting_list(folder / "lengths" / f"{name}.json")
        assert isinstance(problem, LengthsProblem)
        since = time.perf_counter()
        cut = cut_lengths(problem.stock_tenths, problem.kerf_tenths, problem.pieces)
        taken = time.perf_counter() - since
        yield Figure(f"lengths {name}", len(cut.lengths), "lengths", fewest)
        yield Figure(f"lengths {name}: not proven", 0 if cut.is_proven else 1, "", 0)
        yield Figure(f"lengths {name}: after", taken * 1000, "ms", 1000)
