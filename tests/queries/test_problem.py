"""The shop as the planner sees it."""

from __future__ import annotations

from datetime import date, time, timedelta
from decimal import Decimal

import pytest

from builds.actions.planning import replan
from builds.models import (
    Absence,
    Decision,
    Delivery,
    Link,
    OpeningSpan,
    PersonHours,
    Pin,
    PlanRow,
    PlanState,
    Shop,
    Task,
    VisitDay,
)
from builds.queries.opening import instant, minute, opening_times
from builds.queries.problem import planned_minutes, shop_problem
from tests import cast

pytestmark = pytest.mark.database


def test_hours_grow_by_the_plannable_share_on_the_quarter_hour_grid():
    assert planned_minutes(Decimal(4), Decimal("0.8"), same_day=False, shortest_day=480) == 300
    assert planned_minutes(Decimal("0.25"), Decimal("0.8"), same_day=False, shortest_day=480) == 30


def test_work_of_one_day_is_not_stretched_beyond_the_shortest_day():
    assert planned_minutes(Decimal(7), Decimal("0.8"), same_day=True, shortest_day=450) == 450
    assert planned_minutes(Decimal(9), Decimal("0.8"), same_day=True, shortest_day=450) == 540


def test_instants_survive_the_way_to_the_planner_and_back(now):
    assert instant(minute(now)) == now


def test_the_plan_runs_through_the_network_in_order(small_build, now):
    replan(now=now)

    rows = PlanRow.objects.order_by("start").select_related("task")
    assert [r.task.key for r in rows] == ["cut-parts", "glue-up", "fit-unit"]
    assert rows[0].start == now
    assert rows[2].start >= rows[1].finish + timedelta(hours=24)
    assert PlanState.objects.get().handovers[str(small_build.pk)] == rows[2].finish.isoformat()


def test_a_second_replan_with_nothing_changed_does_nothing(small_build, now):
    assert replan(now=now)

    assert not replan(now=now)


def test_the_same_input_gives_the_same_plan(small_build, now):
    replan(now=now)
    first = list(PlanRow.objects.values_list("task_id", "start", "finish", "fitters", "reason"))
    Shop.objects.update(revision=99)

    replan(now=now)

    assert list(PlanRow.objects.values_list("task_id", "start", "finish", "fitters", "reason")) == first


def test_a_public_holiday_and_an_own_closed_day_are_closed_to_the_planner(shop, now):
    closed = shop_problem(now).opening.closed

    assert {date(2027, 3, 26), date(2027, 3, 29)} <= closed


def test_a_whole_absence_runs_from_midnight_to_midnight(joiner, now):
    Absence.objects.create(person=joiner, first_day=date(2027, 3, 4), last_day=date(2027, 3, 5))

    (fitter,) = shop_problem(now).fitters

    times = opening_times()
    assert fitter.away == (
        (minute(times.start_of(date(2027, 3, 4))), minute(times.start_of(date(2027, 3, 6)))),
    )


def test_a_part_day_absence_takes_its_hours_only(joiner, now):
    day = date(2027, 3, 4)
    Absence.objects.create(person=joiner, first_day=day, last_day=day, from_time=time(13), to_time=time(15))

    (fitter,) = shop_problem(now).fitters

    ((start, end),) = fitter.away
    assert end - start == 120


def test_an_apprentice_never_leads(shop, now):
    cast.make_person("Ash Linden", "joinery", is_apprentice=True)

    (fitter,) = shop_problem(now).fitters

    assert fitter.trades == frozenset()


def test_a_visitor_comes_on_booked_days_and_lends_no_hand(shop, now):
    visitor = cast.make_person("Sorrel Fenn", "gas", is_visitor=True)
    VisitDay.objects.create(person=visitor, date=date(2027, 3, 10))

    (fitter,) = shop_problem(now).fitters

    assert fitter.booked == frozenset({date(2027, 3, 10)})
    assert not fitter.helps


def test_own_hours_replace_the_shops(joiner, now):
    PersonHours.objects.create(person=joiner, weekday=0, starts=time(9), ends=time(12))

    (fitter,) = shop_problem(now).fitters

    assert fitter.days == frozenset({0})
    assert fitter.hours == {0: ((540, 720),)}


def test_a_delivery_holds_its_task_until_the_day_after_it_is_expected(small_build, now):
    delivery = Delivery.objects.create(build=small_build, what="Board", expected_on=date(2027, 3, 9))
    delivery.tasks.add(Task.objects.get(key="cut-parts"))

    replan(now=now)

    row = PlanRow.objects.get(task__key="cut-parts")
    assert row.start.date() == date(2027, 3, 10)
    assert row.reason["code"] == "delivery"


def test_an_overdue_delivery_is_taken_to_come_today(small_build, now):
    delivery = Delivery.objects.create(build=small_build, what="Board", expected_on=date(2027, 2, 1))
    delivery.tasks.add(Task.objects.get(key="cut-parts"))

    replan(now=now)

    assert PlanRow.objects.get(task__key="cut-parts").start.date() == date(2027, 3, 2)


def test_an_open_decision_holds_its_task(small_build, now):
    decision = Decision.objects.create(build=small_build, what="Colour", needed_by=date(2027, 3, 5))
    decision.tasks.add(Task.objects.get(key="cut-parts"))

    replan(now=now)

    assert PlanRow.objects.get(task__key="cut-parts").start.date() == date(2027, 3, 8)


def test_a_pin_moves_a_task_to_its_week(small_build, now):
    Pin.objects.create(task=Task.objects.get(key="cut-parts"), monday=date(2027, 3, 15), set_at=now)

    replan(now=now)

    row = PlanRow.objects.get(task__key="cut-parts")
    assert row.start.date() == date(2027, 3, 15)
    assert row.flags == []


def test_a_cold_shop_stretches_what_dries_but_not_other_waits(small_build, now):
    Shop.objects.update(warmth="cold")
    link = Link.objects.get(after__key="fit-unit")
    assert {n.wait for t in shop_problem(now).tasks for n in t.after} == {0, 1440}
    link.cure = "wood glue"
    link.save()

    assert {n.wait for t in shop_problem(now).tasks for n in t.after} == {0, 2160}


def test_a_fitters_word_that_it_is_dry_ends_the_wait(small_build, now):
    link = Link.objects.get(after__key="fit-unit")
    link.before.state, link.before.finished_at, link.before.started_at = "done", now, now
    link.before.save()
    link.dry_at = now + timedelta(hours=2)
    link.save()

    waits = {n.wait for t in shop_problem(now).tasks for n in t.after if n.task == str(link.before_id)}

    assert waits == {120}


def test_a_stopped_task_goes_on_tomorrow_at_the_earliest(small_build, now):
    task = Task.objects.get(key="cut-parts")
    task.state, task.stop_reason = "stopped", "no board"
    task.save()

    replan(now=now)

    row = PlanRow.objects.get(task=task)
    assert row.start.date() == date(2027, 3, 2)


def test_a_task_under_way_keeps_its_crew_and_what_is_left(small_build, joiner, now):
    other = cast.make_person("Moss Birch", "joinery")
    task = Task.objects.get(key="cut-parts")
    task.state, task.started_at = "under way", now - timedelta(hours=2)
    task.hours_left, task.crew_on_it = Decimal("1.5"), [other.pk]
    task.save()

    replan(now=now)

    row = PlanRow.objects.get(task=task)
    assert row.fitters == [other.pk]
    assert row.finish == now + timedelta(minutes=90)


def test_builds_only_asked_about_are_not_planned(small_build, now):
    small_build.status = "asked"
    small_build.save()

    replan(now=now)

    assert not PlanRow.objects.exists()


def test_the_problem_is_read_in_as_many_queries_for_three_vans_as_for_one(
    small_build, now, django_assert_num_queries
):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(
        connection,
    ) as one:
        shop_problem(now)
    for name in ("Plover", "Dunlin"):
        build = cast.make_build(name)
        cast.make_task(build, "a-task", after=(cast.make_task(build, "before-it"),))
        cast.make_person(f"{name} Reed", "joinery")

    with CaptureQueriesContext(connection) as three:
        shop_problem(now)

    assert len(three) == len(one)


def test_closing_at_night_and_breaks_are_read_from_the_opening_hours(shop, now):
    OpeningSpan.objects.filter(weekday=4).delete()

    week = opening_times().week

    assert week[0] == ((480, 750), (780, 1020))
    assert 4 not in week


def test_work_under_way_shrinks_with_the_opening_time_since_it_started(shop, joiner, now):
    task = cast.make_task(cast.make_build(), "long", hours=8, state="under way", started_at=now)

    def left(after_hours: float) -> int:
        problem = shop_problem(now + timedelta(hours=after_hours))
        return next(t.left for t in problem.tasks if t.id == str(task.pk))

    assert [left(h) for h in (0, 2, 5, 24)] == [480, 360, 210, 120]
