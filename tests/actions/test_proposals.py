"""A better plan when asked: searched, stopped, lost and found again, taken or not."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.core.management import call_command
from django.db import IntegrityError, transaction

from builds.actions import proposals
from builds.actions.door import Gone, Refused, Stale
from builds.actions.planning import replan
from builds.engines.planning.planner import crews_of, decode, plan_shop
from builds.engines.planning.search import improve
from builds.models import Absence, Journal, PlanRow, PlanState, Proposal, Shop, ToldRow
from builds.queries.problem import shop_problem
from builds.queries.proposals import proposal_page
from tests import cast

pytestmark = pytest.mark.database


class Ticks:
    """A stopwatch that moves on by itself at each look."""

    def __init__(self, step=0.05):
        self.at, self.step = 0.0, step

    def __call__(self):
        self.at += self.step
        return self.at


@pytest.fixture
def two_vans(shop, now):
    """Two vans for one bench; the stored order does the one first that has time to spare."""
    cast.make_person("Wren Alder", "joinery")
    hurried = cast.make_build("Heron", promised_on=date(2027, 3, 2))
    calm = cast.make_build("Plover", promised_on=date(2027, 4, 30))
    tasks = [
        cast.make_task(build, f"part-{k}", hours=8.5, place_id="bench", needs_van=False)
        for build in (calm, hurried)
        for k in range(2)
    ]
    Shop.objects.update(revision=1)
    PlanState.objects.create(pk=1, order=[t.pk for t in tasks])
    replan(now=now)
    return hurried, calm


def search(now, owner=None, seconds=10, **more):
    found = proposals.ask_for_better_plan(seconds=seconds, now=now, by=owner, in_worker=False)
    proposals.run_search(found.pk, clock=Ticks(), time_now=lambda: now, **more)
    found.refresh_from_db()
    return found


def test_a_search_proposes_the_hurried_van_first_and_says_what_changes(two_vans, now):
    hurried, calm = two_vans

    found = search(now)

    assert (found.state, found.is_looking) == ("ready", None)
    assert found.late_before == 2.0
    assert found.late_after == 0.0
    assert set(found.changes["handovers"]) == {str(hurried.pk), str(calm.pk)}
    assert len(found.changes["moved"]) == 4


def test_the_plan_stays_as_it_is_until_the_owner_takes_the_proposal(two_vans, now):
    before = list(PlanRow.objects.order_by("task").values_list("task", "start"))

    search(now)

    assert list(PlanRow.objects.order_by("task").values_list("task", "start")) == before
    assert not Shop.objects.get().plan_is_stale


def test_once_taken_its_order_is_input_to_the_plan_and_the_next_plan_keeps_it(two_vans, now, owner):
    found = search(now, owner)

    proposals.take_proposal(proposal=found.pk, now=now, by=owner)
    replan(now=now)
    Shop.objects.update(revision=99)
    replan(now=now)

    handover = PlanState.objects.get().handovers[str(two_vans[0].pk)]
    assert handover == found.changes["handovers"][str(two_vans[0].pk)][1]
    assert Journal.objects.filter(what="Took a better plan", by=owner).count() == 1
    assert Proposal.objects.get().state == "taken"


def test_a_proposal_is_taken_once(two_vans, now, owner):
    found = search(now, owner)
    proposals.take_proposal(proposal=found.pk, now=now, by=owner)

    with pytest.raises(Stale):
        proposals.take_proposal(proposal=found.pk, now=now, by=owner)


def test_a_proposal_that_no_longer_helps_is_refused_in_words(two_vans, now, owner):
    found = search(now, owner)
    two_vans[0].tasks.update(state="done", started_at=now, finished_at=now)

    with pytest.raises(Refused, match="no longer be better"):
        proposals.take_proposal(proposal=found.pk, now=now, by=owner)


def test_a_plan_that_cannot_be_bettered_leaves_no_proposal(two_vans, now, owner):
    proposals.take_proposal(proposal=search(now, owner).pk, now=now, by=owner)
    replan(now=now)

    found = search(now, owner)

    assert (found.state, found.order, found.changes) == ("nothing", [], {})


def test_a_dropped_proposal_changes_nothing_and_dropping_twice_is_dropping_once(two_vans, now, owner):
    found = search(now, owner)

    for _ in range(2):
        proposals.drop_proposal(proposal=found.pk, now=now)

    assert Proposal.objects.get().state == "dropped"
    with pytest.raises(Stale):
        proposals.take_proposal(proposal=found.pk, now=now, by=owner)


def test_a_shop_runs_one_search_at_a_time(two_vans, now):
    proposals.ask_for_better_plan(seconds=60, now=now, by=None, in_worker=False)

    with pytest.raises(Refused, match="under way"):
        proposals.ask_for_better_plan(seconds=60, now=now, by=None, in_worker=False)
    with pytest.raises(IntegrityError), transaction.atomic():
        Proposal.objects.create(asked_at=now, seconds=1)


def test_a_stopped_search_ends_with_the_best_so_far(two_vans, now):
    found = proposals.ask_for_better_plan(seconds=1000, now=now, by=None, in_worker=False)

    def stopped_at_the_first_word():
        if Proposal.objects.get(pk=found.pk).steps:
            Proposal.objects.filter(pk=found.pk).update(stop_asked=True)
        return now

    proposals.run_search(found.pk, clock=Ticks(1.0), time_now=stopped_at_the_first_word)

    found.refresh_from_db()
    assert found.state == "ready"
    assert found.seconds_spent < 100


def test_a_search_stopped_before_a_worker_took_it_up_ends_at_once(two_vans, now):
    found = proposals.ask_for_better_plan(seconds=60, now=now, by=None, in_worker=False)

    proposals.stop_search(proposal=found.pk, now=now)

    found.refresh_from_db()
    assert (found.state, found.is_looking) == ("nothing", None)
    proposals.stop_search(proposal=found.pk, now=now)


class Killed(BaseException):
    pass


def test_a_killed_worker_loses_little_and_another_goes_on(
    two_vans, now, monkeypatch, django_capture_on_commit_callbacks
):
    found = proposals.ask_for_better_plan(seconds=60, now=now, by=None, in_worker=False)
    ticks = Ticks(1.0)

    def clock():
        if ticks.at > 30:
            raise Killed
        return ticks()

    with pytest.raises(Killed):
        proposals.run_search(found.pk, clock=clock, time_now=lambda: now)
    found.refresh_from_db()
    assert (found.state, bool(found.order), found.seconds_spent > 10) == ("searching", True, True)
    proposals.go_on_if_lost(now=now + timedelta(seconds=20))
    assert Proposal.objects.get().run == 1

    monkeypatch.setattr("django.utils.timezone.now", lambda: now)
    monkeypatch.setattr(proposals, "improve", lambda problem, plan, **_: plan)
    with django_capture_on_commit_callbacks(execute=True):
        proposals.go_on_if_lost(now=now + timedelta(minutes=1))

    found.refresh_from_db()
    assert (found.run, found.state, found.late_after) == (2, "ready", 0.0)


def test_a_worker_that_was_replaced_writes_nothing(two_vans, now):
    found = proposals.ask_for_better_plan(seconds=60, now=now, by=None, in_worker=False)

    def replaced():
        Proposal.objects.filter(pk=found.pk).update(run=7)
        return now

    proposals.run_search(found.pk, clock=Ticks(1.0), time_now=replaced)

    found.refresh_from_db()
    assert (found.run, found.state) == (7, "searching")


def test_an_unknown_proposal_is_gone(two_vans, now):
    for action in (proposals.stop_search, proposals.drop_proposal):
        with pytest.raises(Gone):
            action(proposal=987654, now=now)
    with pytest.raises(Gone):
        proposals.take_proposal(proposal=987654, now=now, by=None)


def test_nothing_is_searched_before_there_is_a_plan(shop, now):
    with pytest.raises(Refused, match="no plan yet"):
        proposals.ask_for_better_plan(seconds=5, now=now, by=None)


def test_the_nightly_command_leaves_a_proposal_for_the_morning(two_vans, monkeypatch, now, capsys):
    monkeypatch.setattr("django.utils.timezone.now", lambda: now)

    call_command("better_plan", seconds=1)

    assert Proposal.objects.get().state == "ready"
    assert "2.0 to 0.0" in capsys.readouterr().out


def test_the_page_says_which_van_comes_sooner_and_by_how_many_days(two_vans, now):
    search(now)

    page = proposal_page(Shop.objects.get())

    assert [(v.name, v.days_sooner, v.is_late_before, v.is_late_after) for v in page.vans] == [
        ("Heron", 2, True, False),
        ("Plover", -2, False, False),
    ]
    assert (page.late_before, page.late, page.moved_count, page.tasks) == (2.0, 0.0, 4, 4)
    assert page.drawing.points.startswith("40.0,10.0 ")
    assert page.drawing.points.endswith(",120.0")
    assert page.drawing.words.startswith("Weighed late days fell from 2.0 to 0.0")


def test_a_proposed_plan_is_what_the_shop_would_get(two_vans, now):
    found = search(now)

    problem = shop_problem(now)
    proposed = proposals._proposed(problem, found)
    assert proposals.is_better(problem, proposed, proposed) is False
    assert {p.task for p in proposed.planned} == {t.id for t in problem.tasks}


def test_a_search_leaves_told_people_their_work_and_proposes_what_it_shows(two_vans, now, owner):
    calm = two_vans[1]
    sol = cast.make_person("Sol Quill", "joinery")
    told = calm.tasks.first()
    ToldRow.objects.create(
        task=told, monday=date(2027, 3, 1), start=now, finish=now, fitters=[sol.pk], told_at=now
    )
    Absence.objects.create(person=sol, first_day=date(2027, 3, 1), last_day=date(2027, 3, 2))
    replan(now=now)

    plan = plan_shop(shop_problem(now))
    better = improve(shop_problem(now), plan, seconds=5, seed=3, clock=Ticks())
    again = decode(shop_problem(now), better.order, crews_of(better) | dict(shop_problem(now).crews))

    assert next(p.fitters for p in better.planned if p.task == str(told.pk)) == (str(sol.pk),)
    assert again.planned == better.planned
