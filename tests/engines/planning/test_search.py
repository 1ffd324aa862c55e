from datetime import date
from random import Random

from builds.engines.planning.lateness import lateness
from builds.engines.planning.planner import crews_of, decode
from builds.engines.planning.search import improve

from .cast import ANNA, BEN, job, shop, van
from .referee import faults


class Ticks:
    """A stopwatch that counts how often it is looked at."""

    def __init__(self):
        self.count = 0

    def __call__(self):
        self.count += 1
        return self.count / 10


def busy_shop():
    random = Random(3)
    tasks = []
    for v in range(4):
        for k in range(12):
            place = random.choice(["inside", "bench", "office"])
            after = [f"v{v}:{k - 1}"] if k and random.random() < 0.7 else []
            trade = random.choice(["joinery", "electrical"])
            tasks.append(job(f"v{v}:{k}", 120, trade, place, van=f"v{v}", after=after))
    vans = tuple(van(f"v{v}", date(2026, 11, 4 + v), weight=1 + v % 2) for v in range(4))
    return shop(*tasks, vans=vans, fitters=(ANNA, BEN), bays=2)


def test_a_search_is_never_worse_and_its_plan_holds_and_decodes_to_itself():
    problem = busy_shop()
    bad = decode(problem, tuple(t.id for t in reversed(problem.tasks)), {})

    better = improve(problem, bad, seconds=20, seed=1, clock=Ticks())

    assert lateness(problem, better).weighted_days < lateness(problem, bad).weighted_days
    assert faults(problem, better) == []
    assert decode(problem, better.order, crews_of(better)) == better


def test_a_stopped_search_gives_back_the_plan_it_was_given():
    problem = busy_shop()
    plan = decode(problem, (), {})

    assert improve(problem, plan, seconds=60, seed=1, should_stop=lambda: True) is plan


def test_a_search_tells_of_every_better_plan():
    problem = busy_shop()
    bad = decode(problem, tuple(t.id for t in reversed(problem.tasks)), {})
    told = []

    better = improve(problem, bad, seconds=20, seed=1, on_progress=told.append, clock=Ticks())

    late = [p.late_days for p in told]
    assert late == sorted(late, reverse=True)
    assert round(late[-1], 6) == round(lateness(problem, better).weighted_days, 6)


def test_the_same_seed_and_stopwatch_give_the_same_plan():
    problem = busy_shop()
    plan = decode(problem, (), {})

    one, two = (improve(problem, plan, seconds=10, seed=4, clock=Ticks()) for _ in range(2))

    assert one == two
