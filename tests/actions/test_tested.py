"""What was tested and changed since is tested again; nothing slips past a check on its way."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from builds.actions import floor, hold_points, network, tasks
from builds.actions.builds import ReturnedJob, take_back
from builds.actions.door import Refused
from builds.actions.floor import By
from builds.actions.library import load_standard_library
from builds.models import HoldPoint, Installation, Link, Task
from tests import cast

NEW = {"name": "One more tap", "trade_id": "plumbing", "place_id": "inside", "hours": Decimal(1)}


@pytest.fixture
def water(small_build) -> Installation:
    return Installation.objects.create(build=small_build, kind="water", name="Fresh water")


@pytest.fixture
def pipes(small_build, water, now) -> Task:
    done = {"state": "done", "started_at": now, "finished_at": now}
    return cast.make_task(small_build, "pipes", trade_id="plumbing", installation=water, **done)


@pytest.fixture
def check(small_build, water, pipes, now) -> HoldPoint:
    done = {"state": "done", "started_at": now, "finished_at": now}
    task = cast.make_task(
        small_build, "pressure", trade_id="plumbing", installation=water, after=(pipes,), **done
    )
    return HoldPoint.objects.create(task=task, kind="water_pressure", name="Water pressure", state="passed")


@pytest.fixture
def box(small_build, check) -> Task:
    return cast.make_task(small_build, "box-in", after=(check.task,))


def state(check: HoldPoint) -> str:
    return HoldPoint.objects.get(pk=check.pk).state


def test_new_work_on_what_was_tested_opens_the_check_and_comes_before_it(
    small_build, water, check, box, owner, joiner, now
):
    new = tasks.add_task(build=small_build, fields=NEW, installation=water, now=now, by=owner)

    assert state(check) == "reopened"
    assert Link.objects.filter(before=new, after=check.task).exists()
    with pytest.raises(Refused, match="is not passed"):
        floor.start_task(task=box, by=By(person=joiner), now=now)
    assert check.records.get().note == "“One more tap” was added"


def test_new_work_behind_a_check_opens_it_when_that_work_is_ticked(
    small_build, water, check, box, owner, joiner, now
):
    new = tasks.add_task(build=small_build, fields=NEW, installation=water, after=[box], now=now, by=owner)
    Task.objects.filter(pk=box.pk).update(state="done", started_at=now, finished_at=now)
    assert state(check) == "passed"

    floor.tick_task(task=new, hours="1", by=By(person=joiner), now=now)

    assert state(check) == "reopened"


def test_a_tick_of_the_standard_work_behind_a_check_leaves_it_signed(small_build, water, check, joiner, now):
    taps = cast.make_task(small_build, "taps", standard="taps", installation=water, after=(check.task,))

    floor.tick_task(task=taps, hours="1", by=By(person=joiner), now=now)

    assert state(check) == "passed"


@pytest.mark.parametrize("owner_of", [{}, {"trade_id": "electrical"}])
def test_work_that_was_not_tested_opens_nothing(small_build, check, owner, now, owner_of):
    tasks.add_task(build=small_build, fields=NEW | owner_of, now=now, by=owner)

    assert state(check) == "passed"


def test_other_material_in_work_that_is_done_opens_its_check(small_build, pipes, check, owner, now):
    fields = {"materials": "push-fit pipe"}

    tasks.change_task(task=pipes, fields=fields, version=None, now=now, by=owner)

    assert state(check) == "reopened"


def test_another_name_for_work_that_is_done_opens_nothing(small_build, pipes, check, owner, now):
    tasks.change_task(task=pipes, fields={"name": "Pipes, hot and cold"}, version=None, now=now, by=owner)

    assert state(check) == "passed"


def test_work_that_is_done_and_taken_out_opens_its_check(pipes, check, owner, now):
    tasks.remove_task(task=pipes, now=now, by=owner)

    assert state(check) == "reopened"


def test_a_unit_put_in_after_the_weighing_opens_the_weighing(small_build, owner, now):
    done = {"state": "done", "started_at": now, "finished_at": now}
    weigh = cast.make_task(small_build, "weigh", **done)
    check = HoldPoint.objects.create(task=weigh, kind="weighing", name="Weighing", state="passed")
    rack = Installation.objects.create(build=small_build, kind="roof_rack", name="Roof rack")

    tasks.add_task(build=small_build, fields=NEW, installation=rack, now=now, by=owner)

    assert state(check) == "reopened"


def test_gas_work_added_anywhere_opens_the_gas_test(small_build, owner, now):
    done = {"state": "done", "started_at": now, "finished_at": now}
    task = cast.make_task(small_build, "tightness", trade_id="gas", **done)
    check = HoldPoint.objects.create(
        task=task, kind="gas_tightness", name="Gas", licensed_trade="gas", may_overrule=False, state="passed"
    )

    tasks.add_task(build=small_build, fields=NEW | {"trade_id": "gas"}, now=now, by=owner)

    assert state(check) == "reopened"


def test_an_open_check_keeps_its_links(small_build, check, box, owner, now):
    HoldPoint.objects.filter(pk=check.pk).update(state="due")

    for link in (box.links_in.get(), check.task.links_in.get()):
        with pytest.raises(Refused, match="overrule it in writing"):
            network.remove_link(link=link, now=now, by=owner)


def test_a_task_with_an_open_check_is_not_removed_but_overruled(check, owner, now):
    HoldPoint.objects.filter(pk=check.pk).update(state="due")

    with pytest.raises(Refused, match="Overrule it in writing"):
        tasks.remove_task(task=check.task, now=now, by=owner)
    hold_points.overrule_check(hold_point=check, reason="Tested at the maker's", user=owner, now=now)
    tasks.remove_task(task=check.task, now=now, by=owner)

    assert Task.objects.get(pk=check.task_id).removed_at == now


def test_a_check_is_not_overruled_over_the_head_of_one_before_it(small_build, check, owner, now):
    later = cast.make_task(small_build, "hose", after=(check.task,))
    hose = HoldPoint.objects.create(task=later, kind="openings_hose", name="Hose test")
    HoldPoint.objects.filter(pk=check.pk).update(state="due")

    with pytest.raises(Refused, match="“Water pressure” is not passed"):
        hold_points.overrule_check(hold_point=hose, reason="In a hurry", user=owner, now=now)


def test_a_bulk_tick_stops_at_an_open_check_and_tells_which(small_build, check, box, owner, now):
    HoldPoint.objects.filter(pk=check.pk).update(state="due")
    Task.objects.filter(pk=check.task_id).update(state="to do", finished_at=None)
    trim = cast.make_task(small_build, "trim", after=(box,))

    done = floor.bulk_tick(build=small_build, tasks=[check.task, box, trim], user=owner, now=now)

    assert done.ticked == ()
    assert done.checks_left == (check.task,)
    assert done.held == ((box, "Water pressure"), (trim, "Water pressure"))


def test_licensed_work_is_ticked_in_bulk_with_the_competent_persons_name_only(small_build, owner, now):
    gas = cast.make_task(small_build, "gas-pipe", trade_id="gas")

    first = floor.bulk_tick(build=small_build, tasks=[gas], user=owner, now=now)
    assert (first.ticked, first.unnamed) == ((), (gas,))
    floor.bulk_tick(build=small_build, tasks=[gas], user=owner, now=now, competent_person="Osric Vane")

    assert gas.events.get().payload == {"competent_person": "Osric Vane"}


def test_standard_gas_work_stays_gas_work(small_build, owner, now):
    gas = cast.make_task(small_build, "gas-pipe", standard="gas_pipe", trade_id="gas")

    with pytest.raises(Refused, match="a competent person of that trade"):
        tasks.change_task(task=gas, fields={"trade_id": "plumbing"}, version=None, now=now, by=owner)


def test_a_certificate_is_filed_after_the_pass_only(small_build, owner, now):
    task = cast.make_task(small_build, "gas-final", trade_id="gas")
    check = HoldPoint.objects.create(
        task=task, kind="gas_final", name="Final gas", may_overrule=False, certificate_due=True
    )

    with pytest.raises(Refused, match="is not passed"):
        hold_points.file_certificate(hold_point=check, reference="G-1", now=now, by=owner)


def test_a_late_tick_of_work_behind_an_open_check_is_refused(small_build, check, box, joiner, now):
    HoldPoint.objects.filter(pk=check.pk).update(state="due")
    by = By(person=joiner, uuid=uuid.uuid4(), device_at=now)

    with pytest.raises(Refused, match="is not passed"):
        floor.tick_task(task=box, hours="1", by=by, now=now + timedelta(hours=1))
    with pytest.raises(Refused, match="is not passed"):
        floor.tick_task(task=box, hours="1", by=replace(by, uuid=uuid.uuid4(), device_at=None), now=now)


@pytest.mark.parametrize(("trade", "kind"), [("gas", "gas_final"), ("mains", "mains_test")])
def test_a_van_that_comes_back_for_licensed_work_leaves_tested(small_build, owner, now, trade, kind):
    load_standard_library(now=now)
    type(small_build).objects.filter(pk=small_build.pk).update(status="handed over")

    back = take_back(
        build=small_build,
        arrives_on=now.date(),
        promised_on=None,
        jobs=[ReturnedJob("Change the regulator", trade, "inside", Decimal(1))],
        now=now,
        by=owner,
    )

    check = HoldPoint.objects.get(task__build=back)
    assert (check.kind, check.certificate_due, check.may_overrule) == (kind, True, False)
    assert check.task.links_in.get().before.name == "Change the regulator"


def test_gas_work_added_while_the_final_test_is_open_comes_before_it(small_build, owner, now):
    test = cast.make_task(small_build, "gas-final", trade_id="gas")
    HoldPoint.objects.create(
        task=test, kind="gas_final", name="Final gas", licensed_trade="gas", may_overrule=False
    )

    new = tasks.add_task(build=small_build, fields=NEW | {"trade_id": "gas"}, now=now, by=owner)

    assert Link.objects.filter(before=new, after=test).exists()
    assert HoldPoint.objects.count() == 1


def test_work_that_becomes_gas_work_gets_its_test(small_build, owner, now):
    load_standard_library(now=now)
    new = tasks.add_task(build=small_build, fields=NEW, now=now, by=owner)
    assert not HoldPoint.objects.exists()

    tasks.change_task(task=new, fields={"trade_id": "gas"}, version=None, now=now, by=owner)

    assert HoldPoint.objects.get().kind == "gas_final"
