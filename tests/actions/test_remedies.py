"""What would bring a late van back: tried beside the plan, told in words, never part of the plan."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from builds.actions.door import write
from builds.actions.planning import replan
from builds.actions.remedies import work_out_remedies
from builds.models import Delivery, HoldPoint, PlanRow, PlanState, Shop
from builds.queries.may_be_left import may_go_out, may_wait
from builds.queries.remedies import what_helps

pytestmark = pytest.mark.database


@pytest.fixture
def late(small_build, now):
    """A van whose last piece of work waits for a delivery long after the promise."""
    last = small_build.tasks.get(key="fit-unit")
    parcel = Delivery.objects.create(build=small_build, what="Hinges", expected_on=date(2027, 3, 15))
    parcel.tasks.add(last)
    small_build.promised_on = date(2027, 3, 5)
    small_build.save()
    Shop.objects.update(revision=1)
    replan(now=now)
    return small_build


def helps(build):
    return what_helps(build, PlanState.objects.first(), Shop.objects.get())


def test_the_delivery_that_binds_is_told_with_its_day_and_what_it_gains(late, now):
    assert helps(late).state == "not yet"

    assert work_out_remedies(now=now)

    line = helps(late).lines[0]
    assert line.asks.startswith("“Hinges” here by ")
    assert "days sooner" in line.gives
    assert line.costs == "no other van comes later"
    assert (line.url, line.args) == ("delivery", (Delivery.objects.get().pk,))


def test_nothing_is_told_that_was_not_found_by_planning_again(late, now, monkeypatch):
    monkeypatch.setattr("builds.actions.remedies.try_remedies", lambda *args, **more: ())

    work_out_remedies(now=now)

    assert helps(late).is_fresh
    assert helps(late).lines == ()


def test_trying_leaves_the_plan_and_the_shop_as_they_are(late, now):
    before = list(PlanRow.objects.order_by("task").values()), Shop.objects.get().revision

    work_out_remedies(now=now)

    assert (list(PlanRow.objects.order_by("task").values()), Shop.objects.get().revision) == before


def test_a_change_meanwhile_throws_the_answer_away(late, now, monkeypatch):
    def change(*args, **more):
        with write():
            pass
        return ()

    monkeypatch.setattr("builds.actions.remedies.try_remedies", change)

    assert not work_out_remedies(now=now, clock=iter(range(1000)).__next__)
    assert helps(late).state == "not yet"


def test_an_answer_of_an_earlier_plan_says_so(late, now):
    work_out_remedies(now=now)
    with write():
        pass

    assert helps(late).state == "stale"
    assert not work_out_remedies(now=now)


def test_the_same_plan_is_not_tried_twice(late, now):
    assert work_out_remedies(now=now)
    assert not work_out_remedies(now=now + timedelta(minutes=1))


def test_work_before_an_open_check_does_not_wait_until_after_handover(small_build):
    small_build.tasks.update(phase="Trim and outside")
    first, second, third = small_build.tasks.order_by("order")
    HoldPoint.objects.create(task=second, kind="openings_hose", name="Hose test", fields=[])

    assert may_wait() == {str(third.pk)}
    assert may_go_out() == {str(first.pk)}


def test_furniture_is_not_left_until_after_handover(small_build):
    assert may_wait() == set()

    small_build.tasks.filter(key="fit-unit").update(unplanned_job=True)
    assert may_wait() == {str(small_build.tasks.get(key="fit-unit").pk)}


def test_licensed_work_is_neither_given_out_nor_left(small_build):
    small_build.tasks.update(trade_id="gas", phase="Trim and outside")

    assert may_wait() == may_go_out() == set()


def test_the_build_page_tells_it_and_asks_no_more_once_it_is_fresh(late, now, owner_client):
    assert "data-poll" in owner_client.get(f"/builds/{late.pk}/what-helps/").text
    work_out_remedies(now=now)

    page = owner_client.get(f"/builds/{late.pk}/").text
    part = owner_client.get(f"/builds/{late.pk}/what-helps/")

    assert "“Hinges” here by" in page
    assert "data-poll" not in part.text
    again = owner_client.get(f"/builds/{late.pk}/what-helps/", headers={"If-None-Match": part["ETag"]})
    assert again.status_code == 304
    assert owner_client.get("/builds/4711/what-helps/").status_code == 404
