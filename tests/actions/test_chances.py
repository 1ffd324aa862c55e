"""How sure the dates are: worked out beside the plan, stored with its revision, always alike."""

from __future__ import annotations

from datetime import date

import pytest

from builds.actions.chances import work_out_chances
from builds.actions.door import write
from builds.actions.planning import replan
from builds.models import PlanRow, PlanState, Shop, Task
from builds.queries.chances import chances_of, of_100
from builds.queries.opening import opening_times
from tests import cast

pytestmark = pytest.mark.database


@pytest.fixture
def planned(small_build, now):
    Shop.objects.update(revision=1)
    replan(now=now)
    return small_build


def read(build):
    build.refresh_from_db()
    shop = Shop.objects.get()
    return chances_of(build, PlanState.objects.first(), shop, opening_times(shop))


def test_the_days_are_in_order_and_worked_out_alike_each_time(planned, now):
    assert work_out_chances(now=now, runs=50)
    first = PlanState.objects.get().chances
    PlanState.objects.update(chances_of=None)
    work_out_chances(now=now, runs=50)

    found = read(planned)
    assert PlanState.objects.get().chances == first
    assert found.half <= found.likely <= found.sure
    assert found.kept == 100


def test_hours_without_a_spread_give_the_planned_day_in_every_run(planned, now):
    for task in Task.objects.all():
        Task.objects.filter(pk=task.pk).update(hours_low=task.hours, hours_high=task.hours)

    work_out_chances(now=now, runs=20)

    found = read(planned)
    assert found.half == found.sure == found.forecast


def test_a_promise_before_the_work_can_be_done_is_kept_in_no_run(planned, now):
    type(planned).objects.filter(pk=planned.pk).update(promised_on=date(2027, 3, 2))
    Task.objects.filter(key="cut-parts").update(hours=8, hours_low=7, hours_high=9)
    work_out_chances(now=now, runs=20)

    assert read(planned).kept == 0


def test_chances_of_an_earlier_plan_say_so(planned, now):
    assert read(planned).state == "not yet"
    work_out_chances(now=now, runs=20)
    assert read(planned).state == "fresh"

    with write():
        pass

    assert read(planned).state == "stale"
    assert read(planned).words == "kept in 100 of 100 runs, before the last change"


def test_a_plan_that_is_not_current_has_no_chances_worked_out(planned, now):
    with write():
        pass

    assert not work_out_chances(now=now, runs=20)
    assert PlanState.objects.get().chances == {}


def test_runs_are_given_up_when_the_shop_changes_meanwhile(planned, now):
    looks = iter(range(100))

    def clock():
        tick = next(looks)
        if tick == 3:
            with write():
                pass
        return float(tick)

    assert not work_out_chances(now=now, runs=90, clock=clock)
    assert PlanState.objects.get().chances_of is None
    assert next(looks) < 12


def test_working_them_out_leaves_the_plan_and_its_revision_alone(planned, now):
    before = list(PlanRow.objects.order_by("pk").values()), Shop.objects.values().get()

    work_out_chances(now=now, runs=20)

    assert (list(PlanRow.objects.order_by("pk").values()), Shop.objects.values().get()) == before


def test_work_that_cannot_be_planned_leaves_its_build_without_chances(planned, now):
    cast.make_task(planned, "wiring", trade_id="electrical")
    with write():
        pass
    replan(now=now)
    work_out_chances(now=now, runs=20)

    assert (read(planned).is_fresh, read(planned).is_known) == (True, False)


@pytest.mark.parametrize(("share", "words"), [(0, 0), (0.001, 1), (0.644, 64), (0.9999, 99), (1, 100)])
def test_all_and_none_of_the_runs_are_said_only_when_it_is_so(share, words):
    assert of_100(share) == words
