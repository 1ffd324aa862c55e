"""The drawn crew sheet: every piece of work stands at its hours, in a lane where nothing else stands."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from builds.actions.planning import replan
from builds.models import Absence, ClosedDay, Delivery, Person, VisitDay
from builds.queries.crew_drawing import DAY_PX, crew_drawing
from builds.queries.drawing_axis import NAMES_PX, day_axis
from builds.queries.opening import opening_times
from tests import cast

MONDAY = date(2027, 3, 1)


@pytest.fixture
def planned(small_build, now):
    replan(now=now)
    return small_build


def test_an_instant_stands_at_its_share_of_the_opening_day(shop):
    """By hand: 8½ h from 8 to 12:30 and 13 to 17, a day of 85 px: 10 px an hour, none for the break."""
    axis = day_axis(MONDAY, 1, 85, opening_times(shop))

    at = [datetime(2027, 3, 2, h, m, tzinfo=UTC) for h, m in ((7, 0), (8, 0), (12, 30), (13, 0), (17, 0))]

    assert [axis.x(a) - NAMES_PX - 85 for a in at] == [0, 0, 45, 45, 85]
    assert axis.x(datetime(2027, 3, 6, 12, tzinfo=UTC)) == axis.end


def test_summer_time_moves_no_work_on_the_drawing(shop):
    """Clocks in London go forward on 28 March 2027: 8 o'clock is 7:00 UTC the day after."""
    axis = day_axis(date(2027, 3, 22), 2, 85, opening_times(shop))

    friday, monday = datetime(2027, 3, 26, 8, tzinfo=UTC), datetime(2027, 3, 29, 7, tzinfo=UTC)

    assert axis.x(monday) - axis.x(friday) == 85


def test_closed_days_are_drawn_with_their_reason(shop, planned, now):
    ClosedDay.objects.create(date=date(2027, 3, 3), reason="Stocktaking")

    drawn = crew_drawing(now, shop=shop, weeks=4)

    assert [c.closed for c in drawn.axis.columns][:5] == ["", "", "Stocktaking", "", ""]


def test_work_stands_in_the_rows_of_those_who_do_it(shop, planned, now):
    """By hand: 4 h from Monday 8, then 3 h, of days of 8½ h."""
    row = crew_drawing(now, shop=shop, weeks=4).rows[0]

    assert row.name == "Wren Alder"
    day = DAY_PX[4]
    assert [(b.x - NAMES_PX, b.width) for b in row.bars][:2] == [
        (0, round(4 / 8.5 * day)),
        (round(4 / 8.5 * day), round(7 / 8.5 * day) - round(4 / 8.5 * day)),
    ]


def test_waits_deliveries_and_absences_are_drawn(shop, planned, now):
    Delivery.objects.create(build=planned, what="Windows", expected_on=date(2027, 3, 4))
    Absence.objects.create(
        person=Person.objects.get(), first_day=date(2027, 3, 8), last_day=date(2027, 3, 9), reason="Holiday"
    )

    rows = {row.name: row for row in crew_drawing(now, shop=shop, weeks=4).rows}

    assert rows["Wren Alder"].stretches[0].width == 2 * DAY_PX[4]
    assert rows["Deliveries"].spots[0].title == "Heron: Windows, Thu 4 Mar"
    assert len(rows["Waits"].stretches) == 1


def test_what_comes_on_one_day_is_one_mark(shop, planned, now):
    for what in ("Sink", "Hob", "Tank", "Pump"):
        Delivery.objects.create(build=planned, what=what, expected_on=date(2027, 3, 4))

    row = next(r for r in crew_drawing(now, shop=shop, weeks=4).rows if r.name == "Deliveries")

    assert [spot.title for spot in row.spots] == [
        "Heron: Sink; Heron: Hob; Heron: Tank and 1 more, Thu 4 Mar"
    ]


def test_a_visitors_work_is_drawn_on_the_days_they_are_booked(shop, now):
    """By hand: 12 h of gas work on booked days of 8½ h, Tuesday and Friday: all of one, 3½ h of the other."""
    visitor = cast.make_person("Osric Vane", "gas", is_visitor=True)
    for day in (2, 5):
        VisitDay.objects.create(person=visitor, date=date(2027, 3, day))
    cast.make_task(cast.make_build(), "pipe", hours=12, trade_id="gas")
    replan(now=now)

    row = next(r for r in crew_drawing(now, shop=shop, weeks=4).rows if r.name == "Osric Vane")

    day = DAY_PX[4]
    (bar,) = row.bars
    assert bar.has_gaps
    assert [(x - NAMES_PX, width) for x, width in bar.pieces] == [
        (day, day),
        (4 * day, round(3.5 / 8.5 * day)),
    ]


def test_no_two_pieces_overlap_in_a_row(shop, now, joiner):
    cast.make_person("Jory Penn", "joinery")
    for name in ("Heron", "Teal"):
        build = cast.make_build(name)
        for n in range(8):
            cast.make_task(build, f"job-{n}", hours=3 + n / 2)
    replan(now=now)

    for by in ("people", "vans"):
        rows = crew_drawing(now, shop=shop, weeks=4, by=by).rows
        assert sum(len(row.bars) for row in rows) == 16
        for row in rows:
            for lane in {b.y for b in row.bars}:
                mine = sorted((b.x, b.x + b.width) for b in row.bars if b.y == lane)
                assert all(end <= start for (_, end), (start, _) in pairwise(mine))


@pytest.mark.parametrize("by", ["people", "vans"])
def test_three_vans_are_read_with_as_many_queries_as_one(shop, planned, now, by, django_assert_num_queries):
    with CaptureQueriesContext(connection) as for_one:
        crew_drawing(now, shop=shop, by=by)
    for van in ("Teal", "Kestrel"):
        build = cast.make_build(van)
        cast.make_task(build, "cut", after=((cast.make_task(build, "look"), 24 * 60),))
        cast.make_person(f"{van} Hand", "joinery")
    replan(now=now + timedelta(minutes=20))

    with django_assert_num_queries(len(for_one)):
        crew_drawing(now, shop=shop, by=by)
    assert len(for_one) <= 9
