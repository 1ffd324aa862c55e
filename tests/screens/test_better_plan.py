"""Looking for a better plan from the browser: begin, watch, stop, take, leave; wrong and double presses."""

from __future__ import annotations

from datetime import date

import pytest
from django.utils import timezone

from builds.actions import proposals
from builds.actions.planning import replan
from builds.models import PlanState, Proposal, Shop
from tests import cast


@pytest.fixture
def two_vans(shop):
    """Two vans for one bench; the stored order does the one first that has time to spare."""
    cast.make_person("Wren Alder", "joinery")
    now = timezone.now()
    today = now.date()
    hurried = cast.make_build("Heron", arrives_on=today, promised_on=date.fromordinal(today.toordinal() + 1))
    calm = cast.make_build("Plover", arrives_on=today, promised_on=date.fromordinal(today.toordinal() + 90))
    tasks = [
        cast.make_task(build, f"part-{k}", hours=8.5, place_id="bench", needs_van=False)
        for build in (calm, hurried)
        for k in range(4)
    ]
    Shop.objects.update(revision=1)
    PlanState.objects.create(pk=1, order=[t.pk for t in tasks])
    replan(now=now)
    return hurried, calm


@pytest.fixture
def found(two_vans):
    begun = proposals.ask_for_better_plan(seconds=1, now=timezone.now(), by=None, in_worker=False)
    proposals.run_search(begun.pk)
    begun.refresh_from_db()
    assert begun.state == "ready"
    return begun


def test_the_page_offers_to_look_where_nobody_did(owner_client, two_vans):
    page = owner_client.get("/better-plan/")

    assert "Look for a better plan" in page.text
    assert "data-poll=" not in page.text.split('id="better"')[1]


def test_what_was_found_says_what_changes_for_whom(owner_client, found, django_assert_max_num_queries):
    with django_assert_max_num_queries(12):
        page = owner_client.get("/better-plan/").text

    assert "Found a better plan" in page
    assert "sooner" in page
    assert "later" in page
    assert "Weighed late days fell" in page
    assert "Take it" in page


def test_a_search_begun_by_a_press_leaves_its_proposal(owner_client, two_vans, monkeypatch):
    monkeypatch.setattr("builds.actions.proposals.improve", lambda problem, best, **_: best)

    response = owner_client.post("/better-plan/look/", {"seconds": "30"}, follow=True)

    assert response.redirect_chain == [("/better-plan/", 302)]
    assert Proposal.objects.count() == 1


def test_a_second_press_begins_nothing_and_says_why(owner_client, two_vans):
    proposals.ask_for_better_plan(seconds=60, now=timezone.now(), by=None, in_worker=False)

    response = owner_client.post("/better-plan/look/", {"seconds": "30"})

    assert response.status_code == 422
    assert "under way already" in response.text
    assert Proposal.objects.count() == 1


@pytest.mark.parametrize("seconds", ["", "-5", "999999", "soon"])
def test_no_other_length_is_taken(owner_client, two_vans, seconds):
    assert owner_client.post("/better-plan/look/", {"seconds": seconds}).status_code == 422
    assert not Proposal.objects.exists()


def test_an_empty_shop_has_no_plan_to_better(owner_client):
    response = owner_client.post("/better-plan/look/", {"seconds": "30"})

    assert response.status_code == 422
    assert "no plan yet" in response.text


def test_the_live_part_is_asked_for_until_something_changes(owner_client, two_vans):
    begun = proposals.ask_for_better_plan(seconds=60, now=timezone.now(), by=None, in_worker=False)

    first = owner_client.get("/better-plan/progress/")
    assert "Waiting to begin" in first.text
    assert 'data-poll="/better-plan/progress/"' in first.text
    again = owner_client.get("/better-plan/progress/", headers={"If-None-Match": first["ETag"]})
    assert again.status_code == 304

    Proposal.objects.filter(pk=begun.pk).update(state="searching", seconds_spent=3)
    moved = owner_client.get("/better-plan/progress/", headers={"If-None-Match": first["ETag"]})
    assert "Looking" in moved.text


def test_taking_it_twice_takes_it_once(owner_client, found):
    first = owner_client.post(f"/better-plan/{found.pk}/take/", follow=True)
    second = owner_client.post(f"/better-plan/{found.pk}/take/", follow=True)

    assert "Taken. The plan follows it" in first.text
    assert "taken, dropped or replaced" in second.text


def test_leaving_it_keeps_the_plan(owner_client, found):
    response = owner_client.post(f"/better-plan/{found.pk}/leave/", follow=True)

    assert "The plan stays as it is." in response.text
    assert Proposal.objects.get().state == "dropped"


def test_stopping_a_search_no_worker_took_up_ends_it(owner_client, two_vans):
    begun = proposals.ask_for_better_plan(seconds=60, now=timezone.now(), by=None, in_worker=False)

    owner_client.post(f"/better-plan/{begun.pk}/stop/")

    assert Proposal.objects.get().is_looking is None


@pytest.mark.parametrize("verb", ["take", "leave", "stop"])
def test_another_number_is_not_there(owner_client, shop, verb):
    assert owner_client.post(f"/better-plan/4711/{verb}/").status_code == 404
