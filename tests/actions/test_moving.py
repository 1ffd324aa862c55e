"""Moving work: a move sets pins, says first what it does, and is refused only by what is physical."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from builds.actions.door import Gone, Refused, Stale
from builds.actions.moving import (
    Impossible,
    chosen_work,
    keep_move,
    lift_pins,
    mark_of_pins,
    preview_move,
    put_back,
)
from builds.actions.planning import replan
from builds.actions.telling import tell_the_crew
from builds.models import Delivery, Pin, PlanRow, Task, Unit
from builds.queries.opening import opening_times
from tests import cast

WEEK = timedelta(days=7)
THIS = date(2027, 3, 1)


@pytest.fixture
def planned(small_build, now):
    replan(now=now)
    return list(small_build.tasks.all())


def chosen(key: str):
    return chosen_work(key, opening_times())


def start_of(task: Task) -> date:
    return PlanRow.objects.get(task=task).start.date()


def move(task: Task, monday: date, now, owner):
    mark = chosen(str(task.pk)).mark
    pins = keep_move(key=str(task.pk), monday=monday, mark=mark, now=now, by=owner)
    replan(now=now)
    return pins


def test_a_preview_says_what_then_happens_and_changes_nothing(planned, small_build, now, owner):
    preview = preview_move(key=str(planned[0].pk), monday=THIS + WEEK, now=now)

    assert not Pin.objects.exists()
    assert any("Heron is handed over Wed 10 Mar" in line for line in preview.lines)
    move(planned[0], THIS + WEEK, now, owner)
    assert start_of(planned[0]) == THIS + WEEK
    assert max(start_of(t) for t in planned) == date(2027, 3, 9)


def test_followers_are_told_of_in_the_preview(planned, now):
    preview = preview_move(key=str(planned[0].pk), monday=THIS + WEEK, now=now)

    assert (
        "2 tasks besides start a day or more later: Heron’s “Glue up” on Mon 8 Mar; "
        "Heron’s “Fit unit” on Tue 9 Mar." in preview.lines
    )


def test_a_move_is_put_back_as_it_was(planned, now, owner):
    pins = move(planned[0], THIS + WEEK, now, owner)

    put_back(pins=pins, mark=mark_of_pins(pins), now=now, by=owner)
    replan(now=now)

    assert not Pin.objects.exists()
    assert start_of(planned[0]) == THIS


def test_two_people_moving_at_once_do_not_overwrite_each_other(planned, now, owner):
    mark = chosen(str(planned[0].pk)).mark
    keep_move(key=str(planned[0].pk), monday=THIS + WEEK, mark=mark, now=now, by=owner)

    with pytest.raises(Stale):
        keep_move(key=str(planned[0].pk), monday=THIS + 2 * WEEK, mark=mark, now=now, by=owner)

    assert Pin.objects.get().monday == THIS + WEEK


def test_a_move_is_not_put_back_over_a_later_one(planned, now, owner):
    pins = move(planned[0], THIS + WEEK, now, owner)
    mark = mark_of_pins(pins)
    move(planned[0], THIS + 2 * WEEK, now, owner)

    with pytest.raises(Stale):
        put_back(pins=pins, mark=mark, now=now, by=owner)

    assert Pin.objects.get().monday == THIS + 2 * WEEK


def test_what_is_physically_impossible_is_refused_with_the_first_week_that_can(planned, now, owner):
    Delivery.objects.create(build=planned[0].build, what="Windows", expected_on=date(2027, 3, 16)).tasks.add(
        planned[0]
    )

    with pytest.raises(Impossible, match="waits for Windows") as refusal:
        preview_move(key=str(planned[0].pk), monday=THIS + WEEK, now=now)

    assert refusal.value.first_week == THIS + 2 * WEEK


def test_a_follower_cannot_go_before_what_it_waits_for(planned, now, owner):
    move(planned[0], THIS + 2 * WEEK, now, owner)

    with pytest.raises(Impossible, match="comes after “Glue up” and its wait") as refusal:
        preview_move(key=str(planned[2].pk), monday=THIS + WEEK, now=now)

    assert refusal.value.first_week == THIS + 2 * WEEK


def test_too_many_hours_are_shown_and_kept(small_build, joiner, now, owner):
    big = cast.make_task(small_build, "big", hours=60)
    replan(now=now)

    preview = preview_move(key=str(big.pk), monday=THIS + WEEK, now=now)
    move(big, THIS + WEEK, now, owner)

    assert preview.lines
    assert Pin.objects.get(task=big).monday == THIS + WEEK


def test_a_whole_unit_moves_in_step(small_build, now, owner):
    unit = Unit.objects.create(
        build=small_build, kind="kitchen", name="Kitchen", width_mm=1200, depth_mm=500, height_mm=880
    )
    first = cast.make_task(small_build, "one", unit=unit)
    second = cast.make_task(small_build, "two", unit=unit, after=((first, 8 * 24 * 60),))
    replan(now=now)
    assert (start_of(first), start_of(second)) == (THIS, date(2027, 3, 9))

    work = chosen(f"unit-{unit.pk}")
    keep_move(key=work.key, monday=THIS + WEEK, mark=work.mark, now=now, by=owner)

    assert dict(Pin.objects.values_list("task", "monday")) == {
        first.pk: THIS + WEEK,
        second.pk: THIS + 2 * WEEK,
    }


def test_only_what_starts_in_the_week_moves_with_its_cell(small_build, now, owner):
    unit = Unit.objects.create(
        build=small_build, kind="kitchen", name="Kitchen", width_mm=1200, depth_mm=500, height_mm=880
    )
    first = cast.make_task(small_build, "one", unit=unit)
    cast.make_task(small_build, "two", unit=unit, after=((first, 8 * 24 * 60),))
    replan(now=now)

    work = chosen(f"unit-{unit.pk}:{THIS}")

    assert [t.pk for t in work.tasks] == [first.pk]


def test_a_told_task_follows_the_owners_later_word(planned, now, owner):
    tell_the_crew(now=now, user=owner)

    move(planned[0], THIS + 2 * WEEK, now, owner)

    assert start_of(planned[0]) == THIS + 2 * WEEK


def test_a_lifted_pin_lets_the_plan_find_the_week(planned, now, owner):
    move(planned[0], THIS + WEEK, now, owner)

    assert lift_pins(key=str(planned[0].pk), now=now, by=owner) == 1
    replan(now=now)

    assert start_of(planned[0]) == THIS


@pytest.mark.parametrize(
    "key", ["", "abc", "unit-x", "sofa-3", "999999", "unit-999999", "1:never", "-1", "1" * 30]
)
def test_work_that_is_not_there_is_said_to_be_gone(planned, key):
    with pytest.raises((Gone, Refused)):
        chosen(key)


def test_work_under_way_stays(planned, now):
    Task.objects.filter(pk=planned[0].pk).update(state="under way", started_at=now)

    with pytest.raises(Gone):
        chosen(str(planned[0].pk))


@pytest.mark.parametrize("monday", [date(2027, 2, 22), date(2027, 3, 9), date(2099, 1, 5)])
def test_weeks_that_are_over_or_no_weeks_are_refused(planned, now, monday):
    with pytest.raises(Refused) as refusal:
        preview_move(key=str(planned[0].pk), monday=monday, now=now)

    assert refusal.value.field == "week"


def test_work_taken_from_an_old_sheet_is_not_moved(planned, now, owner):
    old = chosen(str(planned[0].pk)).mark
    move(planned[0], THIS + WEEK, now, owner)

    with pytest.raises(Stale):
        preview_move(key=str(planned[0].pk), monday=THIS + 2 * WEEK, now=now, mark=old)


def test_the_preview_tells_the_hours_of_the_week(planned, now):
    """Week 10 by hand: 4 + 3 + 2 h of joinery; one person there, 5 days of 8½ h."""
    preview = preview_move(key=str(planned[0].pk), monday=THIS + WEEK, now=now)

    assert preview.lines[-1] == (
        "Week 10 then needs: joinery 9\u202fh of 42½\u202fh; all hands 9\u202fh of 42½\u202fh."
    )


def test_a_week_that_lacks_hours_says_how_many(small_build, joiner, now):
    """By hand: three jobs of 30 h pinned to one week of 42½ h: the third can’t start there, 30 h too many."""
    jobs = [cast.make_task(small_build, k, hours=30, needs_van=False, place_id="bench") for k in "abc"]
    for job in jobs[:2]:
        Pin.objects.create(task=job, monday=THIS + WEEK, set_at=now)
    small_build.tasks.exclude(pk__in=[j.pk for j in jobs]).delete()
    replan(now=now)

    preview = preview_move(key=str(jobs[2].pk), monday=THIS + WEEK, now=now)

    assert "joinery 72½\u202fh of 42½\u202fh, 30\u202fh over" in preview.lines[-1]
    assert any("won’t fit into that week by hours" in line for line in preview.lines)


def test_the_told_week_of_moved_work_is_named(planned, now, owner):
    tell_the_crew(now=now, user=owner)

    preview = preview_move(key=str(planned[0].pk), monday=THIS + WEEK, now=now)

    assert "The crew was told another week for 1 task of it: tell them anew." in preview.lines


def test_a_unit_with_work_in_no_week_yet_moves_to_one_week(small_build, now, owner):
    unit = Unit.objects.create(
        build=small_build, kind="kitchen", name="Kitchen", width_mm=1200, depth_mm=500, height_mm=880
    )
    first = cast.make_task(small_build, "one", unit=unit)
    second = cast.make_task(small_build, "two", unit=unit, trade_id="gas")
    replan(now=now)

    work = chosen(f"unit-{unit.pk}")
    keep_move(key=work.key, monday=THIS + WEEK, mark=work.mark, now=now, by=owner)

    assert set(Pin.objects.values_list("task", "monday")) == {
        (first.pk, THIS + WEEK),
        (second.pk, THIS + WEEK),
    }


def test_a_forged_week_is_not_put_back(planned, now, owner):
    pins = {planned[0].pk: date(2027, 3, 3)}

    with pytest.raises(Refused):
        put_back(pins=pins, mark=mark_of_pins(pins), now=now, by=owner)

    assert not Pin.objects.exists()
