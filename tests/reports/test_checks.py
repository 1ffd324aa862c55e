"""The hold points of a build on paper: readings, signatures, and what was overruled with its reason."""

from __future__ import annotations

import pytest

from builds.actions import hold_points
from builds.actions.floor import By
from builds.models import HoldPoint
from builds.queries.checks_paper import checks_paper
from builds.reports.checks import checks_of_build
from tests.actions.test_floor_checks import FIELDS


@pytest.fixture
def check(small_build):
    task = small_build.tasks.get(key="cut-parts")
    return HoldPoint.objects.create(task=task, kind="water_pressure", name="Water pressure", fields=FIELDS)


def test_an_overruled_check_prints_the_owners_reason(check, small_build, owner, now):
    hold_points.overrule_check(hold_point=check, reason="Tested at the maker", user=owner, now=now)

    html, pdf = checks_of_build(small_build, now)

    assert "Reason: Tested at the maker" in html
    assert "Let go without a pass" in html
    assert pdf.startswith(b"%PDF")


def test_every_signature_is_printed_with_its_readings_oldest_first(check, small_build, owner, now):
    by = By(user=owner)
    hold_points.fail_check(
        hold_point=check, readings={"start": "1.6", "end": "1.2"}, note="Drips", by=by, now=now
    )
    hold_points.pass_check(hold_point=check, readings={"start": "1.6", "end": "1.6"}, by=by, now=now)

    (line,) = checks_paper(small_build, now).checks

    assert [past.outcome for past in line.past] == ["Failed", "Passed"]
    assert line.past[0].readings == ("Start: 1.6 bar", "End: 1.2 bar", "Lost: 0.4")
    assert line.past[0].remarks == ("lost 0.4, more than the 0.1 of the rule",)


def test_a_build_without_checks_gives_a_paper_that_says_so(small_build, now):
    html, _ = checks_of_build(small_build, now)

    assert "has no hold points" in html
