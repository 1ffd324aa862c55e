from dataclasses import replace
from datetime import date
from functools import partial
from math import pi, sqrt

import numpy as np
import pytest

from builds.engines.planning.planner import plan_shop
from builds.engines.planning.problem import Opening
from builds.engines.planning.rehearse import rehearse
from builds.engines.planning.simulate import simulate
from builds.exchange.problem_files import read_problem
from tests.exchange.test_problem_files import SMALL

from .cast import ANNA, BEN, job, shop, van, when


def exactly(problem):
    return {t.id: (t.minutes,) * 3 for t in problem.tasks}


def whole_shop():
    """The small shop without what can't be planned in it."""
    problem = read_problem(SMALL)
    left_out = ("v2:trim", "v2:cover", "v2:odd")
    return replace(problem, tasks=tuple(t for t in problem.tasks if t.id not in left_out))


@pytest.mark.parametrize("play", [partial(simulate, stay_on=0), rehearse])
def test_work_that_takes_what_was_planned_gives_the_planned_handovers(play):
    problem = whole_shop()
    plan = plan_shop(problem)

    dates = play(problem, plan, seed=1, runs=2, hours=exactly(problem))

    assert {v: set(at) for v, at in dates.by_van.items()} == {v: {at} for v, at in plan.handovers.items()}


def test_two_paths_that_merge_take_longer_than_either():
    """Merge bias: the larger of two independent N(10, 2) has mean 10 + 2 / sqrt(pi) (computed)."""
    always = Opening(dict.fromkeys(range(7), ((0, 1440),)))
    problem = shop(job("a", 600), job("b", 600), fitters=(ANNA, BEN), opening=always)
    plan = plan_shop(problem)
    rng = np.random.default_rng(7)
    drawn = {i: rng.normal(600, 120, 200_000) for i in "ab"}

    dates = simulate(problem, plan, seed=1, runs=200_000, lengths=drawn, stay_on=0)

    assert (dates.by_van["v1"].mean() - when(2)) / 60 == pytest.approx(10 + 2 / sqrt(pi), abs=0.02)


@pytest.mark.parametrize("play", [simulate, rehearse])
def test_dates_are_ordered_and_the_same_seed_gives_the_same(play):
    problem = whole_shop()
    plan = plan_shop(problem)
    dates = play(problem, plan, seed=5, runs=100)

    half, promise, sure = (dates.kept_in("v1", share) for share in (0.5, 0.8, 0.95))
    assert half <= promise <= sure
    again = play(problem, plan, seed=5, runs=100)
    assert {v: list(at) for v, at in again.by_van.items()} == {v: list(at) for v, at in dates.by_van.items()}


def test_the_chance_of_a_promise_is_the_share_of_runs_that_keep_it():
    problem = shop(job("a", 510), vans=(van(promised=date(2026, 11, 2)),), fitters=(ANNA,))
    plan = plan_shop(problem)
    drawn = {"a": np.array([400.0, 500.0, 510.0, 700.0])}

    dates = simulate(problem, plan, seed=1, runs=4, lengths=drawn)

    assert dates.chance("v1", date(2026, 11, 2), None) == 0.75
    assert dates.chance("v1", date(2026, 11, 3), None) == 1.0


def test_a_crew_stays_half_an_hour_to_finish_and_no_longer():
    problem = shop(job("a", 510), fitters=(ANNA,))
    drawn = {"a": np.array([540.0, 545.0])}

    dates = simulate(problem, plan_shop(problem), seed=1, runs=2, lengths=drawn)

    assert list(dates.by_van["v1"]) == [when(2, "17:00"), when(3, "08:35")]


def test_a_person_is_handed_from_job_to_job_in_the_planned_order():
    problem = shop(job("a", 60), job("b", 60, van="v2"), vans=(van("v1"), van("v2")), fitters=(ANNA,))
    plan = plan_shop(replace(problem, order=("a", "b")))

    dates = simulate(problem, plan, seed=1, runs=1, lengths={"a": np.array([90.0]), "b": np.array([60.0])})

    assert dates.by_van["v2"][0] == when(2, "10:30")
