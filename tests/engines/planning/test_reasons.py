from dataclasses import replace
from datetime import date

from builds.engines.planning.calendar import reading
from builds.engines.planning.plan import Reason
from builds.engines.planning.planner import decode, plan_shop
from builds.engines.planning.problem import Link, NotBefore
from builds.engines.planning.reasons import chain, sentences

from .cast import ANNA, BEN, job, reasons, shop, van, when


def told(problem, plan, van="v1", names=None):
    def show(at):
        return reading(at, None).strftime("%a %-d %b")

    def show_time(at):
        return reading(at, None).strftime("%a %-d %b %H:%M")

    return sentences(chain(problem, plan, van), names or {}, {"anna": "Anna", "ben": "Ben"}, show, show_time)


def test_a_wait_is_told_with_its_length_and_end():
    hard = Link("coat", 72 * 60, purpose="to harden")
    problem = shop(job("coat", 480), job("fit", after=[hard]), now=when(6))
    plan = plan_shop(problem)

    names = {"coat": "the second topcoat", "fit": "Fit kitchen"}
    assert told(problem, plan, names=names) == [
        "Fit kitchen starts Mon 9 Nov because the second topcoat needs 72 hours to harden"
        " (until Mon 9 Nov 16:30).",
        "the second topcoat starts Fri 6 Nov because nothing holds it up.",
    ]


def test_a_busy_person_is_named_with_the_task():
    problem = shop(job("a", 120), job("b", 60), fitters=(ANNA,))
    plan = decode(problem, ("a", "b"), {})

    assert reasons(plan)["b"] == Reason("person", "a", who="anna")
    assert told(problem, plan)[0] == "b starts Mon 2 Nov because Anna is busy with a."


def test_a_person_away_is_told_apart_from_a_busy_one():
    away = replace(ANNA, away=((when(2, "00:00"), when(4, "00:00")),))
    plan = plan_shop(shop(job("a"), fitters=(away,)))

    assert reasons(plan)["a"] == Reason("person", who="anna", until=when(4))


def test_a_taken_place_names_the_task_that_takes_it():
    plan = decode(shop(job("a", place="spray", dries_here=120), job("b", place="spray")), ("a", "b"), {})

    assert reasons(plan)["b"] == Reason("place", "a", place="spray")


def test_a_bay_names_the_van_that_had_it():
    problem = shop(
        job("a", place="inside"), job("b", place="inside", van="v2"), vans=(van("v1"), van("v2")), bays=1
    )

    assert reasons(decode(problem, ("a", "b"), {"a": ("anna",), "b": ("ben",)}))["b"] == Reason("bay", "v1")


def test_other_work_on_the_van_and_its_move_are_told_apart():
    tasks = (job("in", place="inside"), job("under", place="underneath"))
    crews = {"in": ("anna",), "under": ("ben",)}
    still = decode(shop(*tasks), ("in", "under"), crews)
    moved = decode(shop(*tasks, move_minutes=30), ("in", "under"), crews)

    assert reasons(still)["under"] == Reason("van", "in")
    assert reasons(moved)["under"] == Reason("move", "in")


def test_dates_from_outside_are_named():
    outside = (NotBefore(when(4), "delivery", "the heater"),)
    plan = plan_shop(
        shop(
            job("heater", not_before=outside),
            job("pin", pin_week=date(2026, 11, 9)),
            job("told", told_week=date(2026, 11, 9)),
            job("in", place="inside"),
            job("now", trade="electrical"),
            vans=(van(here=((when(5), None),)),),
        )
    )

    assert {i: r.code for i, r in reasons(plan).items()} == {
        "heater": "delivery", "pin": "pin", "told": "told", "in": "arrival", "now": "now",
    }  # fmt: skip


def test_a_shut_shop_is_a_reason_of_its_own():
    plan = plan_shop(shop(job("a"), now=when(7, "10:00")))

    assert reasons(plan)["a"] == Reason("closed")


def test_the_day_that_was_too_short_is_a_reason():
    plan = plan_shop(shop(job("a", 480), job("b", 120, same_day=True, after=["a"]), fitters=(ANNA,)))

    assert reasons(plan)["b"] == Reason("day")


def test_the_chain_runs_from_the_handover_back_to_now_and_through_another_van():
    vans = (van("v1"), van("v2"))
    problem = shop(job("a", 120, van="v2"), job("b"), job("c", after=["b"]), vans=vans, fitters=(ANNA,))
    plan = decode(problem, ("a", "b", "c"), {})

    assert [(s.task, s.reason.code) for s in chain(problem, plan, "v1")] == [
        ("c", "after"),
        ("b", "person"),
        ("a", "now"),
    ]


def test_a_chain_with_somebody_away_goes_on_behind_the_absence():
    away = replace(BEN, away=((when(2, "09:00"), when(4, "00:00")),))
    problem = shop(job("a", 60), job("b", 60, trade="electrical", after=["a"]), fitters=(ANNA, away))
    plan = plan_shop(problem)

    assert [s.reason.code for s in chain(problem, plan, "v1")] == ["person", "now"]
