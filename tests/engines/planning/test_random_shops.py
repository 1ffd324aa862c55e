import itertools

import pytest
from hypothesis import HealthCheck, given, settings

from builds.engines.planning.planner import crews_of, decode, plan_shop
from builds.engines.planning.reasons import chain, sentences

from .random_shops import shops
from .referee import faults

QUIET = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much]


def holds(problem):
    plan = plan_shop(problem)

    assert faults(problem, plan) == []
    assert decode(problem, plan.order, crews_of(plan)) == plan
    for van in problem.vans:
        steps = chain(problem, plan, van.id)
        assert len(sentences(steps, {}, {}, str)) == len(steps)
        assert all(later.start <= earlier.start for earlier, later in itertools.pairwise(steps))


# The same two hundred every time, so that a run says something about the change; the long run explores.
@settings(max_examples=200, derandomize=True, deadline=None, suppress_health_check=QUIET)
@given(shops())
def test_every_random_shop_gets_a_plan_that_holds_and_decodes_to_itself(problem):
    holds(problem)


@pytest.mark.prove
@settings(max_examples=10_000, deadline=None, suppress_health_check=QUIET)
@given(shops())
def test_ten_thousand_random_shops_get_plans_that_hold(problem):
    holds(problem)
