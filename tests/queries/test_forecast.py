"""What is said of a van without a day: not taken on, not planned yet, or impossible."""

from __future__ import annotations

from datetime import date

from builds.actions.planning import replan
from builds.models import PlanState
from builds.queries.forecast import forecast_of
from builds.queries.opening import opening_times
from tests import cast


def words(build) -> str:
    return forecast_of(build, PlanState.objects.filter(pk=1).first(), opening_times()).words


def test_a_van_without_a_day_is_told_apart_by_why(shop, small_build, now):
    asked = cast.make_build("Plover", status="asked")
    assert words(asked) == "not taken on yet"
    assert words(small_build) == "being planned"

    stuck = cast.make_build("Teal")
    cast.make_task(stuck, "gas", trade_id="gas")
    replan(now=now)

    assert words(stuck) == "can’t be planned yet"
    assert forecast_of(small_build, PlanState.objects.get(), opening_times()).handover == date(2027, 3, 3)
    assert "to spare" in words(small_build)
