from datetime import date, datetime

from builds.engines.planning.axis import lay_axis, slots_in
from builds.engines.planning.calendar import (
    instant,
    midnight,
    minutes_a_day,
    open_minutes,
    open_stretches,
    reading,
    week_bounds,
    work_stretches,
)
from builds.engines.planning.problem import Fitter, Opening

EIGHT_TO_FIVE = ((480, 720), (750, 1020))
WEEK = dict.fromkeys(range(5), EIGHT_TO_FIVE)
LONDON = Opening(WEEK, zone="Europe/London")
PLAIN = Opening(WEEK)


def minutes_of_week(opening, monday):
    return open_minutes(opening, *week_bounds(monday, opening.zone))


def test_a_closed_friday_removes_a_fifth_of_the_week():
    closed = Opening(WEEK, closed=frozenset({date(2026, 11, 6)}))

    assert minutes_of_week(PLAIN, date(2026, 11, 2)) == 5 * 510
    assert minutes_of_week(closed, date(2026, 11, 2)) == 4 * 510


def test_a_break_is_no_working_time():
    opens, shuts = midnight(date(2026, 11, 2), None) + 480, midnight(date(2026, 11, 2), None) + 1020

    assert open_minutes(PLAIN, opens, shuts) == 510
    assert open_minutes(PLAIN, opens + 240, opens + 270) == 0


def test_the_shop_opens_at_eight_by_the_clock_before_and_after_summer_time_ends():
    friday, monday = (open_stretches(LONDON, d)[0][0] for d in (date(2026, 10, 23), date(2026, 10, 26)))

    assert reading(friday, LONDON.zone) == datetime(2026, 10, 23, 8)
    assert reading(monday, LONDON.zone) == datetime(2026, 10, 26, 8)
    assert monday - friday == 3 * 1440 + 60


def test_the_week_in_which_summer_time_ends_is_an_hour_longer_and_the_work_in_it_is_not():
    begins, ends = week_bounds(date(2026, 10, 19), LONDON.zone)

    assert ends - begins == 7 * 1440 + 60
    assert minutes_of_week(LONDON, date(2026, 10, 19)) == 5 * 510


def test_a_night_shift_loses_the_hour_that_summer_time_takes():
    nights = Opening({6: ((0, 240),)}, zone="Europe/London")

    assert sum(b - a for a, b in open_stretches(nights, date(2026, 3, 29))) == 180


def test_a_plain_clock_has_no_summer_time():
    a, b = (instant(datetime(2026, m, d, 8), None) for m, d in ((10, 24), (10, 26)))

    assert b - a == 2 * 1440


def test_work_over_the_turn_of_the_year_goes_on_behind_the_closed_days():
    holidays = frozenset(date(2026, 12, d) for d in (24, 25, 28, 29, 30, 31)) | {date(2027, 1, 1)}
    opening = Opening(WEEK, closed=holidays)

    since = instant(datetime(2026, 12, 23, 16), None)
    assert open_minutes(opening, since, instant(datetime(2027, 1, 4, 9), None)) == 60 + 60


def test_an_average_day_counts_opening_days_only():
    assert minutes_a_day(Opening({0: ((480, 1020),), 1: ((480, 720),), 2: ()})) == (540 + 240) / 2


def test_own_hours_hold_on_their_day_and_the_shops_on_the_others():
    part_day = Fitter("a", frozenset(), hours={0: ((480, 720),)})

    assert len(work_stretches(PLAIN, part_day, date(2026, 11, 2))) == 1
    assert len(work_stretches(PLAIN, part_day, date(2026, 11, 3))) == 2


def test_a_visitor_comes_on_the_booked_days_and_then_on_the_usual_ones():
    visitor = Fitter(
        "g", frozenset({"gas"}), helps=False, days=frozenset({1}), booked=frozenset({date(2026, 11, 5)})
    )
    days = [date(2026, 11, d) for d in range(2, 14)]

    assert [d.day for d in days if work_stretches(PLAIN, visitor, d)] == [5, 10]


def test_an_absence_takes_out_every_slot_that_it_touches():
    day = midnight(date(2026, 11, 2), None)
    away = Fitter("a", frozenset(), away=((day + 490, day + 700),))
    axis = lay_axis(PLAIN, (away,), day, day + 1)

    at = [axis.at[s] - day for s in slots_in(axis.fitters[0], len(axis.at))]
    assert at == [705, *range(750, 1020, 15)]


def test_slots_start_no_earlier_than_now():
    now = midnight(date(2026, 11, 2), None) + 487
    axis = lay_axis(PLAIN, (), now, now)

    assert axis.at[0] == now + 8
    assert len(axis.at) == 33
