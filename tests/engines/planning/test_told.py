from dataclasses import replace

from builds.engines.planning.calendar import MINUTES_A_DAY
from builds.engines.planning.plan import Plan, Planned, Reason
from builds.engines.planning.planner import crews_of, decode, plan_shop
from builds.engines.planning.told import Disturbance, disturbance, keep_told

from .cast import ANNA, BEN, job, shop, when
from .referee import faults
from .test_search import Ticks, busy_shop


def told_of(plan):
    return {p.task: (p.start, p.fitters) for p in plan.planned}


def test_a_task_moves_at_a_day_and_changes_hands_when_others_do_it():
    rows = [(0, ("a",)), (MINUTES_A_DAY - 1, ("a",)), (MINUTES_A_DAY, ("b", "a")), (0, ("c",))]
    plan = Plan(
        tuple(Planned(str(k), at, at + 60, who, Reason("now")) for k, (at, who) in enumerate(rows)),
        (), (), {}, (),
    )  # fmt: skip
    told = {str(k): (0, ("a", "b") if k == 2 else ("a",)) for k in range(4)} | {"gone": (0, ("a",))}

    assert disturbance(told, plan) == Disturbance(4, moved=0.25, hands=0.25)


def test_a_shop_that_did_not_change_keeps_its_plan():
    problem = busy_shop()
    told = plan_shop(problem)

    kept = keep_told(problem, told_of(told), seconds=3, seed=1, clock=Ticks())

    assert disturbance(told_of(told), kept) == Disturbance(len(problem.tasks), 0.0, 0.0)


def test_work_stays_with_the_crew_that_was_told_though_both_could():
    problem = shop(job("a"), job("b"), fitters=(ANNA, BEN))
    told = {"a": (when(2), ("ben",)), "b": (when(2), ("anna",))}

    kept = keep_told(problem, told, seconds=3, seed=1, clock=Ticks())

    assert crews_of(kept) == {"a": ("ben",), "b": ("anna",)}


def test_a_fitter_away_disturbs_less_than_a_plan_made_anew_and_the_plan_holds():
    problem = busy_shop()
    told = told_of(plan_shop(problem))
    away = replace(BEN, away=((when(3), when(4)),))
    changed = replace(problem, fitters=(ANNA, away))

    kept = keep_told(changed, told, seconds=20, seed=1, clock=Ticks())

    assert faults(changed, kept) == []
    anew = disturbance(told, plan_shop(changed))
    found = disturbance(told, kept)
    assert found.moved + found.hands < anew.moved + anew.hands


def test_the_kept_plan_is_stored_as_an_order_and_crews_that_hold():
    problem = busy_shop()
    told = told_of(plan_shop(problem))

    kept = keep_told(problem, told, seconds=3, seed=1, clock=Ticks())

    assert faults(problem, decode(problem, kept.order, crews_of(kept))) == []


def test_the_same_seed_and_stopwatch_keep_the_same_plan():
    problem = busy_shop()
    told = told_of(plan_shop(problem))

    one, two = (keep_told(problem, told, seconds=8, seed=4, clock=Ticks()) for _ in range(2))

    assert one == two
