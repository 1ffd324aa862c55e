"""What if: trying writes nothing but the copy, whatever is tried."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from builds.actions import what_if
from builds.actions.door import Refused, Stale
from builds.actions.planning import replan
from builds.models import (
    Build,
    PlanRow,
    PlanState,
    Shop,
)
from builds.queries.what_if import what_if_page
from tests.what_if_cast import KINDS, change, days_of, everything, in_the_middle, make_busy_shop


@pytest.fixture
def busy(shop, now):
    return make_busy_shop(now)


@pytest.mark.parametrize("kind", KINDS)
def test_trying_leaves_every_row_as_it_is(busy, now, kind):
    before = everything()

    copy = what_if.try_change(change=change(kind), now=now)
    what_if_page(copy, now, shop=Shop.objects.get())
    what_if.bring_up_to_date(shop=Shop.objects.get(), now=now)
    assert everything() == before

    what_if.drop_copy(mark=copy.mark, now=now)
    assert everything() == before
    assert replan(now=now) is False, "the plan is as current as it was"


@pytest.mark.django_db(transaction=False)
@settings(
    max_examples=15,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    tried=st.lists(st.tuples(st.sampled_from(KINDS), st.integers(0, 20)), min_size=1, max_size=6),
    left_out=st.integers(0, 5),
)
def test_no_mix_of_changes_leaks(busy, now, tried, left_out):
    before = everything()

    for kind, days in tried:
        copy = what_if.try_change(change=change(kind, days=days), now=now)
    copy = what_if.leave_out(change=left_out % len(copy.changes), mark=copy.mark, now=now)
    if copy is not None:
        what_if.drop_copy(mark=copy.mark, now=now)

    assert everything() == before


def test_a_fitter_away_moves_told_work_and_the_page_says_so(busy, now):
    here = {"kind": "away", "person": busy.pk, "first": "2027-03-01", "last": "2027-03-12", "words": "away"}
    copy = what_if.try_change(change=here, now=now)
    page = what_if_page(copy, now, shop=Shop.objects.get())

    assert page.told_count > 0
    assert page.moved_count >= page.told_count
    assert any(person.gives for person in page.people)
    assert "later" in page.summary


def test_the_same_change_twice_is_one(busy, now):
    first = what_if.try_change(change=change("away"), now=now)
    second = what_if.try_change(change=change("away"), now=now)

    assert second.version == first.version
    assert len(second.changes) == 1


def test_another_day_for_the_same_delivery_takes_the_place_of_the_first(busy, now):
    what_if.try_change(change=change("late"), now=now)
    copy = what_if.try_change(change=change("late", days=3), now=now)

    assert [c["words"] for c in copy.changes] == ["late 3"]


def test_two_absences_of_one_person_both_count(busy, now):
    what_if.try_change(change=change("away"), now=now)

    assert len(what_if.try_change(change=change("away", days=7), now=now).changes) == 2


def test_a_copy_holds_twelve_changes(busy, now):
    for days in range(12):
        what_if.try_change(change=change("away", days=days), now=now)

    with pytest.raises(Refused, match="at most 12"):
        what_if.try_change(change=change("away", days=12), now=now)


def test_another_change_at_the_same_moment_is_told(busy, now, monkeypatch):
    in_the_middle(monkeypatch, lambda: what_if.try_change(change=change("closed"), now=now))

    with pytest.raises(Stale, match="begun in the meantime"):
        what_if.try_change(change=change("away"), now=now)
    assert [c["kind"] for c in what_if.open_copy().changes] == ["closed"]


def test_a_van_only_tried_stays_out_of_the_plan(busy, now):
    copy = what_if.try_change(change=change("taken in"), now=now)
    curlew = Build.objects.get(name="Curlew")

    assert days_of(copy.result)[curlew.pk] is not None
    assert str(curlew.pk) not in PlanState.objects.get().handovers
    assert not PlanRow.objects.filter(task__build=curlew).exists()
