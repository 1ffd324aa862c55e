"""A plan that holds whatever happens to the shop, and says what it could not place.

Every plan is held against the referee, which knows nothing of the engine.
"""

from __future__ import annotations

import itertools
import threading
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.urls import reverse

from builds.actions import people, tasks
from builds.actions.door import Refused, write
from builds.actions.floor import By, start_task, tick_task
from builds.actions.moving import chosen_work, keep_move
from builds.actions.planning import replan
from builds.engines.planning.planner import plan_shop
from builds.models import Link, Place, PlanRow, PlanState, Shop, Task
from builds.queries.opening import opening_times
from builds.queries.problem import shop_problem
from tests import cast
from tests.engines.planning.referee import faults

pytestmark = [pytest.mark.database, pytest.mark.django_db(transaction=True)]


def assert_holds(now) -> None:
    """The plan that is stored is the plan of the shop as it is, and the referee finds no fault in it."""
    shop = Shop.objects.get(pk=1)
    problem = shop_problem(now, shop=shop)
    plan = plan_shop(problem)
    assert faults(problem, plan) == []
    assert not shop.plan_is_stale
    stored = {row.task_id: (row.start, [str(f) for f in row.fitters]) for row in PlanRow.objects.all()}
    assert set(stored) == {int(p.task) for p in plan.planned}
    assert len(stored) + len(PlanState.objects.get().unplanned) == Task.objects.unfinished().count()


def unplanned() -> dict[str, str]:
    names = dict(Task.objects.values_list("pk", "key"))
    return {names[int(u["task"])]: u["code"] for u in PlanState.objects.get().unplanned}


def raise_revision() -> None:
    with write():
        pass


def test_a_trade_that_nobody_has_is_named_and_the_rest_is_planned(small_build, joiner, owner_client, now):
    steel = cast.make_task(small_build, "weld-frame", trade_id="plumbing")
    cast.make_task(small_build, "hang-frame", after=(steel,))
    raise_revision()

    replan(now=now)

    assert unplanned() == {"weld-frame": "no trade", "hang-frame": "follows"}
    assert_holds(now)
    page = owner_client.get(reverse("owner:build-page", args=[small_build.pk])).content.decode()
    assert "Weld frame" in page


def test_a_fitter_who_leaves_in_the_middle_of_a_task_leaves_a_plan_that_holds(
    small_build, joiner, owner, now
):
    other = cast.make_person("Ash Fenn", "joinery")
    cut = small_build.tasks.get(key="cut-parts")
    replan(now=now)
    start_task(task=cut, by=By(person=joiner), now=now)
    replan(now=now)

    people.leave(person=joiner, on=now.date(), now=now + timedelta(hours=1), by=owner)
    replan(now=now + timedelta(hours=1))

    rows = {row.task_id: row.fitters for row in PlanRow.objects.all()}
    assert rows[cut.pk] == [other.pk]
    assert all(joiner.pk not in crew for crew in rows.values())
    assert_holds(now + timedelta(hours=1))


def test_the_last_who_has_the_trade_leaves_and_the_work_is_named(small_build, joiner, owner, now):
    replan(now=now)

    people.leave(person=joiner, on=now.date(), now=now, by=owner)
    replan(now=now)

    assert PlanRow.objects.count() == 0
    assert set(unplanned().values()) <= {"no trade", "follows"}
    assert_holds(now)


def test_a_van_waits_for_weeks_for_the_only_bay(shop, joiner, now):
    Place.objects.filter(key="bay").update(room=1)
    first = cast.make_build("Heron", promised_on=date(2027, 6, 30))
    long_work = [cast.make_task(first, f"fit-{n}", hours=30) for n in range(4)]
    for before, after in itertools.pairwise(long_work):
        Link.objects.create(before=before, after=after)
    second = cast.make_build("Teal", promised_on=date(2027, 3, 12))
    waiting = cast.make_task(second, "fit-window", hours=2)
    start_task(task=long_work[0], by=By(person=joiner), now=now)
    raise_revision()

    replan(now=now)

    rows = {row.task_id: row for row in PlanRow.objects.all()}
    assert len(rows) == 5
    assert_holds(now)
    assert rows[waiting.pk].start >= rows[long_work[-1].pk].finish


def test_two_thousand_tasks_in_one_van_are_planned(shop, joiner, now):
    cast.make_person("Ash Fenn", "joinery")
    build = cast.make_build(promised_on=date(2029, 1, 1))
    defaults = {"trade_id": "joinery", "hours_low": 1, "hours_high": 1, "build": build}
    made = Task.objects.bulk_create(
        Task(key=f"t{n}", name=f"T {n}", hours=1, order=n, place_id="bench", needs_van=False, **defaults)
        for n in range(2000)
    )
    Link.objects.bulk_create(Link(before=made[n // 2], after=made[n]) for n in range(1, 2000))
    raise_revision()

    replan(now=now)

    assert PlanRow.objects.count() == 2000
    assert_holds(now)


def at_once(*acts) -> list[str]:
    """Does all of them at the same moment; gives the words of those that were refused."""
    together, refused = threading.Barrier(len(acts)), []

    def run(act) -> None:
        try:
            together.wait()
            act()
        except Refused as error:
            refused.append(error.words)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(act,)) for act in acts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return refused


def test_changes_and_plans_at_once_leave_one_plan_of_the_shop_as_it_is(small_build, joiner, owner, now):
    cut = small_build.tasks.get(key="cut-parts")
    replan(now=now)

    at_once(
        lambda: tick_task(task=cut, hours="2", by=By(person=joiner), now=now),
        lambda: tasks.add_task(
            build=small_build,
            fields={"name": "One more", "hours": Decimal(2), "trade_id": "joinery", "place_id": "inside"},
            now=now,
            by=owner,
        ),
        lambda: replan(now=now),
        lambda: replan(now=now),
    )
    replan(now=now)

    assert Task.objects.get(pk=cut.pk).state == "done"
    assert_holds(now)


def test_two_moves_of_one_task_at_once_are_one_move_and_one_word(small_build, joiner, owner, now):
    replan(now=now)
    task = small_build.tasks.get(key="fit-unit")
    mark = chosen_work(str(task.pk), opening_times()).mark
    weeks = [date(2027, 3, 15), date(2027, 3, 22)]

    def move_to(week):
        return lambda: keep_move(key=str(task.pk), monday=week, mark=mark, now=now, by=owner)

    refused = at_once(*[move_to(week) for week in weeks])
    replan(now=now)

    assert len(refused) == 1
    assert Task.objects.get(pk=task.pk).pin.monday in weeks
    assert_holds(now)
