from dataclasses import replace
from datetime import date

from builds.engines.planning.plan import Plan
from builds.engines.planning.planner import plan_shop
from builds.engines.planning.problem import Link, NotBefore
from builds.engines.planning.remedies import Remedy, plan_with, try_remedies, with_remedy
from builds.engines.planning.remedies_at_hand import remedies_at_hand

from .cast import ANNA, BEN, GAS, finishes, job, shop, starts, van, when
from .referee import faults

MONDAY = date(2026, 11, 2)
DAY = 480 + 30


def tried(problem, van_id, *remedies, **more):
    return try_remedies(problem, plan_shop(problem), van_id, remedies, **more)


def test_another_pair_of_hands_halves_the_work_of_its_week():
    problem = shop(job("a", DAY), job("b", DAY), fitters=(ANNA,))

    (found,) = tried(problem, "v1", Remedy("hands", trade="joinery", week=MONDAY))

    assert found.days_gained == 1.0
    assert found.handovers == {"v1": (when(3, "17:00"), when(2, "17:00"))}
    assert (found.others, found.costs) == ({}, 0.0)


def test_hands_in_a_week_that_does_not_bind_are_not_told():
    problem = shop(job("a", DAY), job("b", DAY), fitters=(ANNA,))

    assert tried(problem, "v1", Remedy("hands", trade="joinery", week=date(2026, 11, 9))) == ()


def test_the_extra_hands_are_there_in_that_week_alone():
    problem = with_remedy(
        shop(*(job(f"t{k}", DAY * 5) for k in range(4)), fitters=(ANNA,)),
        Remedy("hands", trade="joinery", week=date(2026, 11, 9)),
    )

    plan = plan_shop(problem)

    days = {p.start // 1440 for p in plan.planned if p.fitters != ("anna",)}
    assert days == {when(9) // 1440}


def test_a_delivery_by_the_day_before_it_is_wanted_gains_all_there_is():
    bound = NotBefore(when(12, "00:00"), "delivery", "the hob")
    problem = shop(job("first", DAY), job("hob", DAY, after=["first"], not_before=(bound,)))
    plan = plan_shop(problem)

    (remedy,) = [r for r in remedies_at_hand(problem, plan, "v1") if r.kind == "date"]
    (found,) = try_remedies(problem, plan, "v1", [remedy])

    assert (remedy.ref, remedy.day) == ("the hob", date(2026, 11, 2))
    assert found.handovers["v1"] == (when(12, "17:00"), when(3, "17:00"))
    assert found.days_gained == 7.0


def test_the_spray_area_for_one_van_first_costs_the_other_what_it_costs():
    vans = (van("v1", date(2026, 11, 2)), van("v2", date(2026, 11, 2), weight=2))
    problem = shop(
        job("one", DAY, "finishing", "spray", van="v1"),
        job("two", DAY, "finishing", "spray", van="v2"),
        vans=vans,
        order=("two", "one"),
    )
    plan = plan_shop(problem)

    (remedy,) = [r for r in remedies_at_hand(problem, plan, "v1") if r.kind == "first"]
    (found,) = try_remedies(problem, plan, "v1", [remedy])

    assert remedy.place == "spray"
    assert (found.days_gained, found.others, found.costs) == (1.0, {"v2": 1.0}, 2.0)


def test_a_pin_lifted_lets_its_task_start_at_once():
    problem = shop(job("a", pin_week=date(2026, 11, 16)))
    plan = plan_shop(problem)

    (remedy,) = [r for r in remedies_at_hand(problem, plan, "v1") if r.kind == "pin"]

    assert starts(plan_with(problem, plan.order, "v1", remedy)) == {"a": "Mon 2 08:00"}


def test_a_visitor_comes_on_the_first_day_the_work_is_ready_for_them():
    problem = shop(job("pipes", DAY * 2), job("gas", 120, "gas", after=["pipes"]), fitters=(ANNA, GAS))
    plan = plan_shop(problem)

    found = try_remedies(
        problem, plan, "v1", [r for r in remedies_at_hand(problem, plan, "v1") if r.kind == "visit"]
    )

    assert starts(plan)["gas"] == "Tue 10 08:00"
    assert [(t.remedy.day.day, t.days_gained) for t in found] == [(4, 4.0), (5, 3.0), (6, 2.0), (9, 1.0)]


def test_a_booked_visitor_keeps_their_other_days():
    gas = replace(GAS, booked=frozenset({date(2026, 11, 10)}))
    problem = shop(job("a", 120, "gas"), job("b", DAY, "gas"), fitters=(ANNA, gas))

    changed = with_remedy(problem, Remedy("visit", fitter="gas", day=date(2026, 11, 4)))

    assert changed.fitters[1].booked == {date(2026, 11, 4), date(2026, 11, 10)}


def test_work_given_out_takes_nobody_and_only_what_may_go_is_given():
    problem = shop(job("fronts", DAY), job("seat", DAY), fitters=(ANNA,))
    plan = plan_shop(problem)
    at_hand = remedies_at_hand(problem, plan, "v1", may_go_out={"seat"})

    (remedy,) = [r for r in at_hand if r.kind == "out"]

    assert remedy.task == "seat"
    assert finishes(plan_with(problem, plan.order, "v1", remedy)) == {
        "fronts": "Mon 2 17:00",
        "seat": "Mon 2 17:00",
    }


def test_what_is_left_until_after_handover_hands_its_waits_on():
    problem = shop(
        job("glue", 60), job("trim", 60, after=[Link("glue", 120)]), job("test", 60, after=[Link("trim", 60)])
    )

    changed = with_remedy(problem, Remedy("after", task="trim"))

    assert [t.id for t in changed.tasks] == ["glue", "test"]
    assert changed.tasks[1].after == (Link("glue", 180),)


def test_a_plan_with_a_remedy_holds():
    problem = shop(*(job(f"t{k}", 300, place="bench") for k in range(6)), fitters=(ANNA, BEN))
    plan = plan_shop(problem)

    for remedy in remedies_at_hand(problem, plan, "v1", may_go_out={"t1"}, may_wait={"t2"}):
        changed = with_remedy(problem, remedy)
        assert faults(changed, plan_with(problem, plan.order, "v1", remedy)) == []


def test_a_stopped_look_tells_nothing_more_and_a_van_without_work_has_no_remedy():
    problem = shop(job("a", DAY), job("b", DAY), fitters=(ANNA,))
    hands = Remedy("hands", trade="joinery", week=MONDAY)

    assert tried(problem, "v1", hands, should_stop=lambda: True) == ()
    empty = Plan((), (), (), {}, ())
    assert remedies_at_hand(problem, empty, "v1") == ()


def test_a_remedy_that_leaves_another_vans_work_unplanned_is_not_told():
    short = van("v2", here=((when(2), when(3, "00:00")),))
    mine = job("one", DAY, "finishing", "spray", van="v1")
    theirs = job("two", DAY, "finishing", "spray", van="v2", needs_van=True)
    problem = shop(mine, theirs, vans=(van("v1"), short), order=("two", "one"))

    assert plan_shop(problem).unplanned == ()
    assert tried(problem, "v1", Remedy("first", place="spray")) == ()
