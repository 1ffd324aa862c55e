from dataclasses import replace
from datetime import date

from builds.engines.planning.lateness import difference, lateness
from builds.engines.planning.plan import Reason
from builds.engines.planning.planner import crews_of, decode, plan_shop
from builds.engines.planning.weeks import first_week_that_can

from .cast import ANNA, BEN, finishes, hands, job, shop, starts, van, when


def test_a_stored_order_is_kept_though_a_rule_would_choose_another():
    tasks = (job("a", 60), job("b", 60))

    assert starts(decode(shop(*tasks, fitters=(ANNA,)), ("b", "a"), {})) == {
        "b": "Mon 2 08:00",
        "a": "Mon 2 09:00",
    }


def test_a_stored_crew_keeps_its_task_though_another_is_free_sooner():
    plan = decode(shop(job("a"), job("b")), ("a", "b"), {"a": ("anna",), "b": ("anna",)})

    assert hands(plan) == {"a": ("anna",), "b": ("anna",)}
    assert starts(plan)["b"] == "Mon 2 09:00"


def test_a_stored_crew_that_falls_ill_hands_the_task_on():
    ill = replace(ANNA, away=((when(2, "00:00"), when(7, "00:00")),))
    plan = decode(shop(job("a"), fitters=(ill, BEN)), ("a",), {"a": ("anna",)})

    assert hands(plan) == {"a": ("ben",)}


def test_a_crew_that_can_no_longer_do_the_task_is_chosen_anew():
    plan = decode(shop(job("a", trade="electrical")), ("a",), {"a": ("anna",)})

    assert hands(plan) == {"a": ("ben",)}


def test_work_the_order_does_not_name_is_slotted_in_by_its_vans_promise():
    vans = (van("v1", date(2026, 12, 18)), van("v2", date(2026, 11, 3)))
    old = [job("a", 510), job("b", 510)]
    problem = shop(*old, job("urgent", 60, van="v2"), vans=vans, fitters=(ANNA,))

    assert starts(decode(problem, ("a", "b"), {}))["urgent"] == "Mon 2 08:00"


def test_a_pin_in_an_order_that_would_miss_it_brings_the_task_forward():
    tasks = [job(f"o{k}", 510) for k in range(6)]
    problem = shop(
        *tasks, job("p", pin_week=date(2026, 11, 2)), fitters=(ANNA,), order=tuple(t.id for t in tasks)
    )

    plan = plan_shop(problem)

    assert starts(plan)["p"].split()[0] in ("Mon", "Tue", "Wed", "Thu", "Fri")
    assert plan.flags == ()


def test_a_plan_decodes_to_itself():
    problem = shop(*(job(f"t{k}", 45 * (1 + k % 5), place="inside", crew=1 + k % 2) for k in range(30)))
    plan = plan_shop(problem)

    assert decode(problem, plan.order, crews_of(plan)) == plan
    assert plan_shop(replace(problem, order=plan.order, crews=crews_of(plan))) == plan


def test_lateness_counts_opening_days_after_the_promised_one():
    problem = shop(job("a", 510 * 3), vans=(van(promised=date(2026, 11, 2), weight=2),))
    late = lateness(problem, plan_shop(problem))

    assert late.days_by_van == {"v1": 2.0}
    assert late.weighted_days == 4.0


def test_the_difference_of_two_plans_names_handovers_moves_and_hands():
    tasks = (job("a", 510), job("b", 510))
    one = decode(shop(*tasks, fitters=(ANNA, BEN)), ("a", "b"), {"a": ("anna",), "b": ("anna",)})
    two = decode(shop(*tasks, fitters=(ANNA, BEN)), ("b", "a"), {"a": ("anna",), "b": ("ben",)})

    found = difference(one, two)

    assert found.handovers == {"v1": (when(3, "17:00"), when(2, "17:00"))}
    assert [m.task for m in found.moved] == ["b"]
    assert found.hands == {"b": (("anna",), ("ben",))}
    assert finishes(two)["b"] == "Mon 2 17:00"


def test_the_first_week_that_can_counts_only_what_is_physical():
    busy = [job(f"o{k}", 510) for k in range(9)]
    problem = shop(
        job("coat", 510), job("fit", after=["coat"], pin_week=date(2026, 11, 30)), *busy, fitters=(ANNA,)
    )

    found = first_week_that_can(problem, "fit")

    assert found.monday == date(2026, 11, 2)
    assert found.reason == Reason("after", "coat", until=when(2, "17:00"))


def test_the_first_week_that_can_waits_for_the_van():
    problem = shop(job("in", place="inside"), vans=(van(here=((when(11), None),)),))

    assert first_week_that_can(problem, "in").monday == date(2026, 11, 9)
    assert first_week_that_can(problem, "in").reason.code == "arrival"


def test_no_week_can_hold_a_task_on_a_loop():
    found = first_week_that_can(shop(job("a", after=["b"]), job("b", after=["a"])), "a")

    assert found.monday is None
    assert found.impossible.code == "loop"
