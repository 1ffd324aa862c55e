"""A week's hours: opening hours less closed days and absences, times the plannable share."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from types import SimpleNamespace

import pytest

from builds.models import Absence, ClosedDay, PersonHours, VisitDay
from builds.queries.capacity import WeekHours, hours_in_weeks, week_hours
from builds.queries.fitters import people_at_work
from builds.queries.opening import opening_times
from builds.queries.problem import shop_problem
from tests import cast

pytestmark = pytest.mark.database

MONDAY = date(2027, 3, 8)
WHOLE_WEEK = 42.5
"""Five days of 8 to 12:30 and 13 to 17."""


def at(day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(2027, 3, day, hour, minute, tzinfo=UTC)


def row(start, finish, hours, *, trade="joinery", crew=1, fitters=(), pin=None):
    return SimpleNamespace(
        start=start, finish=finish, hours=hours, trade=trade, crew=crew, fitters=fitters, pin=pin
    )


def week(rows=(), *, monday=MONDAY, now=cast.NOW, share=1.0) -> WeekHours:
    times = opening_times()
    people = people_at_work(times, times.day_of(now))
    return week_hours(monday, now=now, times=times, plannable_share=share, people=people, rows=rows)


def test_a_person_has_the_opening_hours_of_the_week(joiner):
    assert week().trade("joinery").there == WHOLE_WEEK


def test_only_the_plannable_share_counts(joiner):
    assert week(share=0.8).trade("joinery").there == 34.0


def test_a_closed_friday_removes_a_fifth_of_the_week(joiner):
    ClosedDay.objects.create(date=date(2027, 3, 12), reason="stocktaking")

    assert week().trade("joinery").there == WHOLE_WEEK * 4 / 5


def test_public_holidays_are_not_worked(joiner):
    easter = week(monday=date(2027, 3, 22)), week(monday=date(2027, 3, 29))

    assert [w.hands.there for w in easter] == [34.0, 34.0]


def test_a_whole_week_of_leave_leaves_nothing(joiner):
    Absence.objects.create(person=joiner, first_day=MONDAY, last_day=date(2027, 3, 14))

    assert week().hands.there == 0


def test_a_part_day_away_takes_its_hours_and_no_break_twice(joiner):
    tuesday = date(2027, 3, 9)
    Absence.objects.create(
        person=joiner, first_day=tuesday, last_day=tuesday, from_time=time(12), to_time=time(14)
    )

    assert week().hands.there == WHOLE_WEEK - 1.5


def test_absences_that_overlap_are_taken_off_once(joiner):
    for first in (9, 10):
        Absence.objects.create(person=joiner, first_day=date(2027, 3, first), last_day=date(2027, 3, 10))

    assert week().hands.there == WHOLE_WEEK * 3 / 5


def test_own_hours_replace_the_opening_hours(joiner):
    PersonHours.objects.create(person=joiner, weekday=5, starts=time(9), ends=time(12))

    assert week().hands.there == 3.0


def test_of_this_week_only_what_is_left_counts(joiner):
    wednesday_noon = datetime(2027, 3, 10, 12, 30, tzinfo=UTC)

    assert week(now=wednesday_noon).hands.there == 4 + 8.5 * 2


def test_a_visitor_counts_on_booked_days_only(shop):
    visitor = cast.make_person("Sorrel Fenn", "gas", is_visitor=True)

    before = week().trade("gas").there
    VisitDay.objects.create(person=visitor, date=date(2027, 3, 10))

    assert (before, week().trade("gas").there) == (0, 8.5)


def test_somebody_with_two_trades_is_counted_once_among_all_hands(shop):
    cast.make_person("Wren Alder", "joinery", "trim")

    found = week()

    assert found.hands.there == WHOLE_WEEK
    assert found.trade("joinery").there == found.trade("trim").there == WHOLE_WEEK


def test_an_hour_planned_in_one_trade_is_not_offered_to_another(shop):
    wren = cast.make_person("Wren Alder", "joinery", "trim")

    found = week([row(at(8, 8), at(9, 17), 17, trade="trim", fitters=(wren.pk,))])

    assert (found.trade("trim").needed, found.trade("trim").there) == (17, WHOLE_WEEK)
    assert found.trade("joinery").there == WHOLE_WEEK - 17


def test_an_apprentice_adds_a_hand_but_leads_no_trade(joiner):
    cast.make_person("Ash Linden", "joinery", is_apprentice=True)

    assert week().trade("joinery").there == WHOLE_WEEK
    assert week().hands.there == 2 * WHOLE_WEEK


def test_a_crew_of_two_needs_one_lead_and_two_pairs_of_hands(joiner):
    found = week([row(at(8, 8), at(8, 12), 4, crew=2)])

    assert (found.trade("joinery").needed, found.hands.needed) == (4, 8)


def test_work_over_the_weekend_is_cut_at_the_week_by_its_opening_hours(joiner):
    friday_to_monday = row(at(5, 13), at(8, 10), 6)

    first, second = week([friday_to_monday], monday=date(2027, 3, 1)), week([friday_to_monday])

    assert (first.hands.needed, second.hands.needed) == (4, 2)


def test_work_under_way_counts_with_what_is_left_of_it(joiner):
    now = at(9, 8)

    found = week([row(at(8, 8), at(9, 10), 2)], now=now)

    assert found.hands.needed == 2


def test_work_pinned_to_a_week_that_had_no_room_for_it_shows_as_over(joiner):
    rows = [row(at(8, 8), at(12, 17), 42.5), row(at(15, 8), at(15, 12), 4, pin=MONDAY)]

    assert week(rows).trade("joinery").over == 4


def test_a_trade_nobody_has_is_over_by_all_that_is_needed(joiner):
    assert week([row(at(8, 8), at(8, 10), 2, trade="gas")]).trade("gas").over == 2


def test_hours_of_a_row_are_shared_over_the_weeks_it_touches(shop):
    times = opening_times()
    bounds = [times.start_of(MONDAY + timedelta(days=7 * n)) for n in range(3)]
    opening = times.for_planner(MONDAY, MONDAY + timedelta(days=30))

    one = hours_in_weeks(row(at(9, 8), at(9, 12), 4), bounds, opening)
    two = hours_in_weeks(row(at(12, 15), at(15, 10), 4), bounds, opening)

    assert (one, two) == ({0: 4}, {0: 2, 1: 2})


def test_the_planner_and_the_week_know_the_same_people(joiner, now):
    cast.make_person("Ash Linden", "trim", is_apprentice=True)
    visitor = cast.make_person("Sorrel Fenn", "gas", is_visitor=True)
    VisitDay.objects.create(person=visitor, date=date(2027, 3, 10))
    PersonHours.objects.create(person=joiner, weekday=0, starts=time(9), ends=time(12))
    Absence.objects.create(
        person=joiner, first_day=MONDAY, last_day=MONDAY, from_time=time(9), to_time=time(10)
    )
    times = opening_times()

    found = people_at_work(times, times.day_of(now))

    assert tuple(p.fitter for p in found) == shop_problem(now).fitters
