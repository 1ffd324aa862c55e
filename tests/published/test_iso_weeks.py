"""Week dates against ISO 8601 at the turn of the year, and RFC 5545's Mondays of week 20.

ISO cases marked "table" were read in published week tables; the others are computed from the rule
(week 1 holds the first Thursday) and stand here so that a change of method shows. RFC 5545 section
3.8.5.3, "Monday of week number 20": 12 May 1997, 11 May 1998, 17 May 1999. Exact.
"""

from datetime import date

import pytest

from builds.engines.planning.calendar import monday_of, week_text

CASES = [
    ("2005-01-01", "2004-W53-6", "table"),
    ("2005-01-02", "2004-W53-7", "table"),
    ("2006-12-31", "2006-W52-7", "table"),
    ("2007-01-01", "2007-W01-1", "table"),
    ("2008-12-28", "2008-W52-7", "table"),
    ("2008-12-29", "2009-W01-1", "table"),
    ("2012-12-31", "2013-W01-1", "table"),
    ("2019-12-30", "2020-W01-1", "table"),
    ("2020-12-31", "2020-W53-4", "computed"),
    ("2021-01-03", "2020-W53-7", "computed"),
    ("2026-12-27", "2026-W52-7", "computed"),
    ("2026-12-28", "2026-W53-1", "computed"),
    ("2027-01-03", "2026-W53-7", "computed"),
    ("2027-01-04", "2027-W01-1", "computed"),
    ("2032-12-27", "2032-W53-1", "computed"),
]


@pytest.mark.parametrize(("day", "week", "basis"), CASES)
def test_a_day_falls_in_its_iso_week(day, week, basis):
    assert week_text(date.fromisoformat(day)) == week


@pytest.mark.parametrize("monday", [date(1997, 5, 12), date(1998, 5, 11), date(1999, 5, 17)])
def test_week_20_begins_on_the_mondays_of_rfc_5545(monday):
    assert week_text(monday)[4:] == "-W20-1"
    assert {monday_of(date.fromordinal(monday.toordinal() + k)) for k in range(7)} == {monday}
