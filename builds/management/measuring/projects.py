"""Published projects (PSPLIB, MPLIB) run through the planner's search, against the best known makespans.

A run over everything keeps each line in the var folder as it goes, so that a run that was stopped goes on.
"""

from __future__ import annotations

import csv
import json
import time
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from django.conf import settings

from builds.engines.planning.projects.search import shortest
from builds.exchange.project_files import read_project
from builds.management.measuring.figures import Figure

SECONDS = 20.0
SAMPLE = {
    "j30": ("j301_1.sm", "j3013_1.sm", "j3029_1.sm"),
    "j60": ("j605_1.sm", "j6013_1.sm"),
    "j120": ("j1201_1.sm", "j12031_1.sm"),
    "mplib": ("MPLIB1_Set3_2200.rcmp",),
}
GOALS = {"j30": 0.0, "j60": 0.40, "j120": 3.0, "mplib": 0.0}
"""How many hundredths the makespans may be above the best known, on average."""


def project_line(path: Path, *, seconds: float, workers: int) -> dict[str, Any]:
    """One file planned: file, makespan, proven, lower_bound, seconds."""
    since = time.perf_counter()
    found = shortest(read_project(path), seconds=seconds, seed=1, workers=workers)
    return {
        "file": path.name,
        "makespan": found.makespan,
        "proven": found.is_proven,
        "lower_bound": found.lower_bound,
        "seconds": round(time.perf_counter() - since, 2),
    }


def measure_projects(folder: Path, *, whole: bool) -> Iterator[Figure]:
    """By family: how far above best known, and for the smallest how many are proven."""
    with (folder / "best_known.csv").open(newline="") as file:
        best = {row[0]: int(row[1]) for row in list(csv.reader(file))[1:]}
    for family, sample in SAMPLE.items():
        names = [n for n in best if _family(n) == family] if whole else list(sample)
        places = ("psplib", "mplib")
        paths = [p for n in names for d in places if (p := folder / d / n).is_file()]
        lines = list(_kept_lines(paths) if whole else _lines(paths))
        if not lines:
            continue
        above = sum(100 * (line["makespan"] / best[line["file"]] - 1) for line in lines) / len(lines)
        what = f"{family}, {SECONDS:g} s each, {len(lines)} files: above best known"
        yield Figure(what, round(above, 3), "%", GOALS[family])
        if family == "j30":
            proven = sum(line["proven"] for line in lines)
            yield Figure(f"j30: proven, of {len(lines)}", proven, "files", len(lines), at_least=True)


def _family(name: str) -> str:
    if name.endswith(".rcmp"):
        return "mplib"
    return next((f for f in ("j120", "j60", "j30") if name.startswith(f)), "")


def _lines(paths: Iterable[Path]) -> Iterator[dict[str, Any]]:
    for path in paths:
        yield project_line(path, seconds=SECONDS, workers=1)


def _kept_lines(paths: Iterable[Path]) -> Iterator[dict[str, Any]]:
    """The lines of an earlier run that was stopped, and new ones for what it had not reached."""
    kept = Path(settings.VAR_DIR) / "measured-projects.jsonl"
    known = {}
    if kept.is_file():
        known = {line["file"]: line for line in map(json.loads, kept.read_text().splitlines())}
    for path in paths:
        if path.name not in known:
            known[path.name] = project_line(path, seconds=SECONDS, workers=1)
            kept.parent.mkdir(parents=True, exist_ok=True)
            with kept.open("a") as file:
                file.write(json.dumps(known[path.name]) + "\n")
        yield known[path.name]
