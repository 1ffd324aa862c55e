"""What if, kept: all of it by the ordinary actions or nothing, and never over what changed meanwhile."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

import pytest

from builds.actions import what_if
from builds.actions.builds import agree
from builds.actions.deliveries import arrived, change_date
from builds.actions.door import Refused, Stale, write
from builds.actions.moving import chosen_work, keep_move
from builds.actions.people import set_hours
from builds.actions.planning import replan
from builds.models import (
    Absence,
    Build,
    ClosedDay,
    Delivery,
    Journal,
    Person,
    Pin,
    PlanRow,
    PlanState,
    Shop,
    Task,
    ToldRow,
    WhatIf,
)
from builds.queries.opening import opening_times
from builds.queries.what_if import what_if_page
from tests.what_if_cast import KINDS, change, days_of, everything, in_the_middle, make_busy_shop


@pytest.fixture
def busy(shop, now):
    return make_busy_shop(now)


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_kept_gives_the_plan_that_was_shown(busy, now, kind):
    copy = what_if.try_change(change=change(kind), now=now)
    shown = days_of(copy.result)

    assert what_if.keep_copy(mark=copy.mark, now=now, by=None) == 1
    assert replan(now=now) is True

    assert {int(b): at for b, at in PlanState.objects.get().handovers.items()} == shown
    assert Journal.objects.filter(what__startswith="Kept what was tried").count() == 1
    assert what_if.open_copy() is None


def test_all_kinds_at_once_are_kept_and_give_the_plan_that_was_shown(busy, now):
    for kind in KINDS:
        if kind != "without":
            copy = what_if.try_change(change=change(kind), now=now)

    assert what_if.keep_copy(mark=copy.mark, now=now, by=None) == len(KINDS) - 1
    replan(now=now)

    assert {int(b): at for b, at in PlanState.objects.get().handovers.items()} == days_of(copy.result)


def test_each_change_is_made_for_real(busy, now):
    for kind in KINDS:
        copy = what_if.try_change(change=change(kind), now=now)
        if kind == "late":
            what_if.keep_copy(mark=copy.mark, now=now, by=None)
    what_if.keep_copy(mark=copy.mark, now=now, by=None)

    assert Absence.objects.get().first_day == date(2027, 3, 9)
    assert Delivery.objects.get().expected_on == date(2027, 3, 9)
    assert not Delivery.objects.get().tasks.exists()
    curlew = Build.objects.get(name="Curlew")
    assert (curlew.status, curlew.arrives_on) == ("agreed", date(2027, 3, 9))
    assert busy.hours.filter(weekday=0).order_by("starts").last().ends == time(18)
    assert ClosedDay.objects.count() == 3
    assert Pin.objects.get(task__build__name="Plover").monday == date(2027, 3, 15)


def test_who_goes_first_has_the_spray_area_first(busy, now):
    def sprayed(name):
        return PlanRow.objects.get(task__build__name=name, task__key="paint").start

    ToldRow.objects.all().delete()
    with write():
        pass
    replan(now=now)
    assert sprayed("Heron") < sprayed("Plover")

    copy = what_if.try_change(change=change("first"), now=now)
    what_if.keep_copy(mark=copy.mark, now=now, by=None)
    replan(now=now)

    assert sprayed("Plover") < sprayed("Heron")


def test_keeping_and_dropping_twice_happen_once(busy, now):
    copy = what_if.try_change(change=change("away"), now=now)
    what_if.keep_copy(mark=copy.mark, now=now, by=None)
    assert what_if.keep_copy(mark=copy.mark, now=now, by=None) == 0
    assert Absence.objects.count() == 1

    other = what_if.try_change(change=change("closed"), now=now)
    what_if.drop_copy(mark=other.mark, now=now)
    what_if.drop_copy(mark=other.mark, now=now)
    assert not ClosedDay.objects.exists()


def test_two_presses_at_once_try_and_keep_once(busy, now, monkeypatch):
    in_the_middle(monkeypatch, lambda: what_if.try_change(change=change("away"), now=now))
    copy = what_if.try_change(change=change("away"), now=now)
    assert len(WhatIf.objects.get().changes) == 1

    with write():
        pass
    in_the_middle(monkeypatch, lambda: what_if.keep_copy(mark=copy.mark, now=now, by=None))
    assert what_if.keep_copy(mark=copy.mark, now=now, by=None) == 0
    assert Absence.objects.count() == 1


def test_a_write_at_the_moment_of_keeping_is_told(busy, now, monkeypatch):
    copy = what_if.try_change(change=change("away"), now=now)
    with write():
        pass

    def another():
        with write():
            pass

    in_the_middle(monkeypatch, another)
    with pytest.raises(Stale, match="this very moment"):
        what_if.keep_copy(mark=copy.mark, now=now, by=None)
    assert not Absence.objects.exists()


def test_what_was_dropped_cant_be_kept_nor_a_new_copy_by_an_old_page(busy, now):
    old = what_if.try_change(change=change("away"), now=now)
    what_if.drop_copy(mark=old.mark, now=now)
    new = what_if.try_change(change=change("closed"), now=now)
    assert new.version == old.version

    with pytest.raises(Stale, match="kept or dropped"):
        what_if.keep_copy(mark=old.mark, now=now, by=None)
    what_if.drop_copy(mark=old.mark, now=now)
    assert what_if.open_copy() == new
    assert not Absence.objects.exists()


def test_a_page_of_fewer_changes_keeps_nothing(busy, now):
    seen = what_if.try_change(change=change("away"), now=now).mark
    what_if.try_change(change=change("closed"), now=now)

    with pytest.raises(Stale, match="changed in the meantime"):
        what_if.keep_copy(mark=seen, now=now, by=None)
    assert not Absence.objects.exists()


@pytest.mark.parametrize("mark", ["", "x", "1", "1-2", "-1--1-0", "1-1-99999999999", "0-0-0", "١-١-١"])
def test_no_other_mark_opens_the_copy(busy, now, mark):
    what_if.try_change(change=change("away"), now=now)

    with pytest.raises(Stale):
        what_if.keep_copy(mark=mark, now=now, by=None)
    with pytest.raises(Stale):
        what_if.leave_out(change=0, mark=mark, now=now)


def _came(now):
    arrived(delivery=Delivery.objects.get(), now=now, by=None)


def _comes_later(now):
    change_date(delivery=Delivery.objects.get(), expected_on=date(2027, 3, 20), now=now, by=None)


def _leaves(now):
    with write():
        Person.objects.filter(name="Wren Alder").update(left_on=now.date())


def _works_mornings(now):
    spans = {0: [(time(8), time(12))]}
    set_hours(person=Person.objects.get(name="Wren Alder"), spans=spans, now=now, by=None)


def _agreed(now):
    agree(build=Build.objects.get(name="Curlew"), now=now, by=None)


def _given_up(now):
    with write():
        Build.objects.filter(name="Plover").update(status="dropped")


def _pinned(now):
    key = str(Task.objects.get(build__name="Plover", key="trim").pk)
    mark = chosen_work(key, opening_times()).mark
    keep_move(key=key, monday=date(2027, 3, 22), mark=mark, now=now, by=None)


def _removed(now):
    with write():
        Task.objects.filter(build__name="Plover", key="trim").update(removed_at=now)


@pytest.mark.parametrize(
    ("kind", "meanwhile", "words"),
    [
        ("late", _came, "it has come"),
        ("without", _came, "it has come"),
        ("late", _comes_later, "delivery was changed meanwhile"),
        ("away", _leaves, "work here any more"),
        ("longer", _leaves, "work here any more"),
        ("longer", _works_mornings, "hours were changed"),
        ("taken in", _agreed, "taken in or given up"),
        ("first", _given_up, "not being built"),
        ("pin", _pinned, "moved meanwhile"),
        ("pin", _removed, "taken out by now"),
    ],
)
def test_keeping_is_refused_in_words_where_the_shop_moved_away_from_it(busy, now, kind, meanwhile, words):
    what_if.try_change(change=change("closed"), now=now)
    what_if.try_change(change=change(kind), now=now)
    meanwhile(now)
    copy = what_if.bring_up_to_date(shop=Shop.objects.get(), now=now)
    page = what_if_page(copy, now, shop=Shop.objects.get())
    before = everything()

    assert words in page.changes[1].clash
    assert not page.may_keep
    with pytest.raises(Refused, match=words):
        what_if.keep_copy(mark=copy.mark, now=now, by=None)
    assert everything() == before
    assert what_if.open_copy() is not None


def test_a_change_tried_again_stands_on_the_shop_as_it_is_now(busy, now):
    what_if.try_change(change=change("late"), now=now)
    _comes_later(now)
    copy = what_if.try_change(change=change("late"), now=now)

    assert copy.result["clashes"] == {}
    what_if.keep_copy(mark=copy.mark, now=now, by=None)
    assert Delivery.objects.get().expected_on == date(2027, 3, 9)


def test_keeping_is_refused_where_other_days_come_of_it_by_now(busy, now):
    copy = what_if.try_change(change=change("away"), now=now)
    with write():
        Task.objects.filter(key="fit").update(hours=40, hours_high=60)

    with pytest.raises(Stale, match="gone on since you looked"):
        what_if.keep_copy(mark=copy.mark, now=now, by=None)
    assert not Absence.objects.exists()

    seen = what_if.open_copy()
    assert days_of(seen.result) != days_of(copy.result)
    assert what_if.keep_copy(mark=seen.mark, now=now, by=None) == 1


def test_work_that_changes_no_day_is_no_reason_to_refuse(busy, now):
    copy = what_if.try_change(change=change("away"), now=now)
    with write():
        pass

    assert what_if.keep_copy(mark=copy.mark, now=now, by=None) == 1


def test_one_change_that_cant_be_done_undoes_those_before_it(busy, now, monkeypatch):
    what_if.try_change(change=change("away"), now=now)
    copy = what_if.try_change(change=change("closed"), now=now)
    before = everything()

    def refuses(*_):
        raise Refused("The stove is out.")

    monkeypatch.setitem(what_if.carry_out.__globals__["_ACTIONS"], "closed", refuses)
    with pytest.raises(Refused, match="closed 0: The stove is out"):
        what_if.keep_copy(mark=copy.mark, now=now, by=None)

    assert everything() == before
    assert what_if.open_copy() is not None


def test_hours_past_midnight_are_refused(busy, now):
    late = {day: [(time(14), time(23, 30))] for day in range(5)}
    set_hours(person=busy, spans=late, now=now, by=None)
    copy = what_if.try_change(change=change("longer"), now=now)

    with pytest.raises(Refused, match="past midnight"):
        what_if.keep_copy(mark=copy.mark, now=now, by=None)


def test_longer_days_stand_on_the_persons_own_hours(busy, now):
    set_hours(person=busy, spans={1: [(time(9), time(15))]}, now=now, by=None)
    copy = what_if.try_change(change=change("longer"), now=now)
    what_if.keep_copy(mark=copy.mark, now=now, by=None)

    assert list(busy.hours.values_list("weekday", "starts", "ends")) == [(1, time(9), time(16))]


@pytest.mark.parametrize("kind", ["away", "late", "taken in", "closed", "pin"])
def test_a_change_of_days_that_are_over_counts_no_more(busy, now, kind):
    what_if.try_change(change=change(kind), now=now)
    later: datetime = now + timedelta(days=30)
    with write():
        pass
    copy = what_if.bring_up_to_date(shop=Shop.objects.get(), now=later)

    assert copy.result["clashes"] == {"0": "that day is over"}
    with pytest.raises(Refused, match="that day is over"):
        what_if.keep_copy(mark=copy.mark, now=later, by=None)
