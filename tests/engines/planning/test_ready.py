"""When one more van could be ready, with none of the others moving for it."""

from dataclasses import replace
from datetime import date

from hypothesis import given, settings

from builds.engines.planning.planner import plan_shop
from builds.engines.planning.problem import Van
from builds.engines.planning.ready import when_ready

from .cast import finishes, job, shop, van, when
from .random_shops import shops
from .test_random_shops import QUIET

MONDAY = date(2026, 11, 2)


def new(*tasks, others=(), **changes):
    return shop(*others, *tasks, vans=(van(), Van("new", ())), **changes)


def test_it_comes_on_the_first_day_a_bay_has_room_for_all_its_stay():
    first = job("a", 3 * 510, place="inside", trade="electrical")
    problem = new(job("n", 510, place="inside", van="new"), others=(first,), bays=1)

    found = when_ready(problem, "new", earliest=MONDAY)

    assert found.arrives == date(2026, 11, 5)
    assert finishes(found.plan)["n"] == "Thu 5 17:00"


def test_it_comes_no_earlier_than_asked_and_bench_work_does_not_wait_for_it():
    cut = job("cut", 60, place="bench", van="new")
    problem = new(cut, job("fit", 60, place="inside", van="new", after=("cut",)))

    found = when_ready(problem, "new", earliest=date(2026, 11, 9))

    assert (found.arrives, found.begins) == (date(2026, 11, 9), when(2))
    assert found.handover == when(9, "09:00")


def test_the_hands_of_the_others_are_busy_first():
    problem = new(job("n", 60, van="new", trade="finishing"), others=(job("a", 510, trade="finishing"),))

    found = when_ready(problem, "new", earliest=MONDAY)

    assert found.begins == when(3)


def test_what_cannot_be_done_is_an_answer():
    found = when_ready(new(job("n", 60, van="new", trade="gas")), "new", earliest=MONDAY)

    assert found.handover is None
    assert [(u.task, u.code) for u in found.unplanned] == [("n", "no trade")]


@settings(max_examples=100, derandomize=True, deadline=None, suppress_health_check=QUIET)
@given(shops())
def test_nothing_of_the_others_moves_in_random_shops(problem):
    name = problem.vans[-1].id
    before = plan_shop(
        replace(
            problem,
            vans=tuple(v for v in problem.vans if v.id != name),
            tasks=tuple(t for t in problem.tasks if t.van != name),
        )
    )

    found = when_ready(problem, name, earliest=MONDAY)

    after = {p.task: (p.start, p.finish, p.fitters) for p in found.plan.planned}
    assert {p.task: after[p.task] for p in before.planned} == {
        p.task: (p.start, p.finish, p.fitters) for p in before.planned
    }
