"""A shop with one thing otherwise: what each change means, and that plans of changed shops hold."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from builds.engines.planning import copies
from builds.engines.planning.planner import plan_shop
from builds.engines.planning.problem import Fitter

from .cast import ANNA, BEN, finishes, hands, job, shop, starts, van, when
from .random_shops import CHANGE, shops
from .referee import at, faults, local_day

QUIET = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much]
DAY = 480 + 30


def test_somebody_away_leaves_the_work_to_the_other():
    problem = shop(job("a"), fitters=(ANNA, BEN))
    assert hands(plan_shop(problem)) == {"a": ("anna",)}

    away = copies.with_absence(problem, "anna", when(2, "00:00"), when(4, "00:00"))

    assert hands(plan_shop(away)) == {"a": ("ben",)}


def test_longer_days_begin_as_before_and_end_later():
    """By hand: 600 minutes are 8 to 17:00 with half an hour's break (510), and 90 more."""
    problem = shop(job("a", 600), fitters=(ANNA,))
    assert finishes(plan_shop(problem)) == {"a": "Tue 3 09:30"}

    longer = copies.with_longer_days(problem, "anna", 90)

    assert finishes(plan_shop(longer)) == {"a": "Mon 2 18:30"}


def test_longer_days_follow_a_persons_own_hours_and_days_and_end_at_midnight():
    part = Fitter("dora", frozenset({"joinery"}), days=frozenset({1}), hours={1: ((1200, 1410),)})
    problem = shop(job("a", 230), fitters=(part,))

    longer = copies.with_longer_days(problem, "dora", 60)

    assert longer.fitters[0].hours == {1: ((1200, 1440),)}


def test_a_closed_day_puts_work_off_to_the_next():
    problem = copies.with_closed_days(shop(job("a")), [date(2026, 11, 2)])

    assert starts(plan_shop(problem)) == {"a": "Tue 3 08:00"}


def test_a_pin_puts_work_in_its_week_over_what_was_told():
    told = job("a", told_week=date(2026, 11, 2))

    pinned = copies.with_pin(shop(told), "a", date(2026, 11, 16))

    assert starts(plan_shop(pinned)) == {"a": "Mon 16 08:00"}
    assert plan_shop(pinned).flags == ()


def test_a_van_comes_to_stay_and_its_survey_stays_before():
    survey = (when(2), when(3, "00:00"))
    problem = shop(job("a", place="outside", needs_van=True), vans=(van(here=(survey, (when(20), None))),))

    sooner = copies.with_arrival(problem, "v1", date(2026, 11, 9))

    assert sooner.vans[0].here == (survey, (when(9, "00:00"), None))


def test_the_van_that_goes_first_takes_the_place_before_the_other():
    problem = shop(
        job("cut", DAY, van="v1", place="bench"),
        job("paint1", DAY, trade="finishing", van="v1", place="spray", after=["cut"]),
        job("paint2", DAY, trade="finishing", van="v2", place="spray"),
        vans=(van(), van("v2")),
        fitters=(ANNA, replace(BEN, trades=frozenset({"joinery", "finishing"}))),
    )
    order = ("paint2", "cut", "paint1")

    first = copies.with_van_first(problem, order, "v1", "spray")

    assert first == ("cut", "paint1", "paint2")
    assert copies.with_van_first(problem, order, "v2", "spray") == order
    assert copies.with_van_first(problem, order, "v1", "inside") == order


@st.composite
def tried(draw):
    """A random shop with up to three changes, and the changes."""
    problem = draw(shops())
    changes = draw(st.lists(st.sampled_from(["away", "longer", "closed", "pin", "arrival"]), max_size=3))
    for kind in changes:
        problem = _with(draw, problem, kind)
    return problem, changes


def _with(draw, problem, kind):
    day = CHANGE + timedelta(days=draw(st.integers(0, 20)))
    if kind == "away":
        who = draw(st.sampled_from(problem.fitters)).id
        until = day + timedelta(days=draw(st.integers(1, 5)))
        zone = problem.opening.zone
        return copies.with_absence(problem, who, at(day, 0, zone), at(until, 0, zone))
    if kind == "longer":
        who = draw(st.sampled_from(problem.fitters)).id
        return copies.with_longer_days(problem, who, draw(st.sampled_from([30, 120, 600])))
    if kind == "closed":
        return copies.with_closed_days(problem, [day, day + timedelta(days=1)])
    if kind == "pin":
        task = draw(st.sampled_from(problem.tasks)).id
        return copies.with_pin(problem, task, day - timedelta(days=day.weekday()))
    return copies.with_arrival(problem, draw(st.sampled_from(problem.vans)).id, day)


@settings(max_examples=150, derandomize=True, deadline=None, suppress_health_check=QUIET)
@given(tried())
def test_every_changed_shop_gets_a_plan_that_holds(given_shop):
    problem, _ = given_shop

    assert faults(problem, plan_shop(problem)) == []


@settings(max_examples=150, derandomize=True, deadline=None, suppress_health_check=QUIET)
@given(shops(), st.integers(0, 10))
def test_nobody_begins_on_a_day_that_was_closed(problem, after):
    day = CHANGE + timedelta(days=after)
    before = problem

    plan = plan_shop(copies.with_closed_days(problem, [day]))

    todo = {t.id for t in problem.tasks if t.state == "to do"}
    assert day not in {local_day(p.start, problem.opening.zone) for p in plan.planned if p.task in todo}
    assert problem == before


@settings(max_examples=150, derandomize=True, deadline=None, suppress_health_check=QUIET)
@given(shops(), st.data())
def test_the_order_of_a_van_that_goes_first_is_one_of_the_same_work(problem, data):
    plan = plan_shop(problem)
    chosen = data.draw(st.sampled_from(problem.vans)).id

    order = copies.with_van_first(problem, plan.order, chosen, "spray")

    assert sorted(order) == sorted(plan.order)
    assert faults(problem, plan_shop(replace(problem, order=order))) == []
    mine = {t.id for t in problem.tasks if t.van == chosen and t.place == "spray"}
    theirs = {t.id for t in problem.tasks if t.van != chosen and t.place == "spray"}
    needed = _before(problem, mine)
    last = max((k for k, i in enumerate(order) if i in mine), default=-1)
    assert all(order.index(i) > last for i in theirs - needed if i in order)


def _before(problem, tasks):
    """All that must come before some tasks."""
    links = {t.id: [k.task for k in t.after] for t in problem.tasks}
    found, todo = set(), list(tasks)
    while todo:
        for one in links.get(todo.pop(), ()):
            if one not in found:
                found.add(one)
                todo.append(one)
    return found
