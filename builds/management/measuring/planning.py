"""The planner on the shared shops: first plans, plans after a minute, a fitter away, simulated runs."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from builds.engines.planning.lateness import lateness
from builds.engines.planning.plan import Plan
from builds.engines.planning.planner import crews_of, decode_stored, plan_shop
from builds.engines.planning.prepare import prepare
from builds.engines.planning.problem import Problem
from builds.engines.planning.search import improve
from builds.engines.planning.simulate import simulate
from builds.engines.planning.told import keep_told
from builds.exchange.problem_files import read_problem, read_told, write_plan
from builds.management.measuring.bench import bench_data, refused_by
from builds.management.measuring.figures import Figure, median_ms
from builds.management.measuring.projects import measure_projects

FIRST_LATE = {"shop-8": 53.0, "shop-20": 31.8, "shop-50": 2302.0}
FIRST_SECONDS = {"shop-8": 0.26, "shop-20": 1.5, "shop-50": 10.4}
MINUTE_LATE = {"shop-8": 3.0, "shop-20": 2.0, "shop-50": 1500.0}
SEARCH_SECONDS, TOLD_SECONDS = 60.0, 10.0
RUNS = 10_000


@dataclass
class _Bench:
    """The problems, and which plans the referee refused of those it has seen."""

    folder: Path
    own: Path
    seen: int = 0
    refused: list[str] = field(default_factory=list)

    def path(self, name: str) -> Path:
        return self.folder / "planning" / f"{name}.json"

    def check(self, name: str, problem: Problem, plan: Plan) -> Path:
        """The plan written to a file and shown to the referee."""
        out = self.own / f"plan-{self.seen}.json"
        write_plan(out, problem, plan)
        self.seen += 1
        if refused_by(self.folder / "check_plan.py", self.path(name), out):
            self.refused.append(name)
        return out


def measure_planning(*, whole: bool = False) -> Iterator[Figure]:
    """Every figure of the planner; without `whole` a few of the published projects."""
    folder = bench_data()
    if folder is None:
        return
    with tempfile.TemporaryDirectory() as own:
        bench = _Bench(folder, Path(own))
        yield from _shops(bench)
        yield from _told(bench)
        mixed = read_problem(bench.path("shop-5-mixed"))
        bench.check("shop-5-mixed", mixed, plan_shop(mixed))
        yield Figure(f"plans refused by the referee, of {bench.seen}", len(bench.refused), "", 0)
    yield from measure_projects(folder / "planning", whole=whole)


def _shops(bench: _Bench) -> Iterator[Figure]:
    for name in FIRST_LATE:
        problem = read_problem(bench.path(name))
        since = time.perf_counter()
        plan = plan_shop(problem)
        taken = time.perf_counter() - since
        bench.check(name, problem, plan)
        late = lateness(problem, plan).weighted_days
        yield Figure(f"{name}: first plan", round(late, 2), "days", FIRST_LATE[name])
        yield Figure(f"{name}: first plan after", taken, "s", FIRST_SECONDS[name])
        if name == "shop-20":
            prepared, crews = prepare(problem), crews_of(plan)
            once = median_ms(lambda p=prepared, o=plan.order, c=crews: decode_stored(p, o, c), times=5)
            yield Figure(f"{name}: one stored order decoded", once, "ms", 250)
            yield _simulated(problem, plan)
        better = improve(problem, plan, seconds=SEARCH_SECONDS - taken, seed=1)
        bench.check(name, problem, better)
        late = lateness(problem, better).weighted_days
        yield Figure(f"{name}: after {SEARCH_SECONDS:g} s", round(late, 2), "days", MINUTE_LATE[name])


def _simulated(problem: Problem, plan: Plan) -> Figure:
    since = time.perf_counter()
    simulate(problem, plan, seed=1, runs=RUNS)
    what = f"{RUNS} simulated runs of {len(plan.planned)} tasks"
    return Figure(what, time.perf_counter() - since, "s", 5)


def _told(bench: _Bench) -> Iterator[Figure]:
    """The first plan told, then a fitter away for a week more."""
    problem = read_problem(bench.path("shop-20"))
    told = bench.check("shop-20", problem, plan_shop(problem))
    absent = read_problem(bench.path("shop-20-absent"))
    anew = lateness(absent, plan_shop(absent)).weighted_days
    since = time.perf_counter()
    kept = keep_told(absent, read_told(told), seconds=TOLD_SECONDS - 1.0, seed=1)
    taken = time.perf_counter() - since
    out = bench.check("shop-20-absent", absent, kept)
    done = subprocess.run(
        [sys.executable, str(bench.folder / "compare_plans.py"), str(told), str(out)],
        capture_output=True,
        text=True,
        check=True,
    )
    found = json.loads(done.stdout)
    yield Figure("a fitter away: moved by a day", 100 * found["moved"], "%", 15)
    yield Figure("a fitter away: change hands", 100 * found["hands_changed"], "%", 10)
    late = lateness(absent, kept).weighted_days
    yield Figure("a fitter away: late (goal: as planned anew)", round(late, 2), "days", round(anew, 2))
    yield Figure("a fitter away: planned after", taken, "s", TOLD_SECONDS)
