"""A fitter's week on paper."""

from __future__ import annotations

import io
from datetime import date, timedelta

import pytest
from pypdf import PdfReader

from builds.actions.planning import replan
from builds.models import PlanRow
from builds.queries.job_week import job_week
from builds.reports.job_sheet import job_sheet_paper
from tests import cast

MONDAY = date(2027, 3, 1)


@pytest.fixture
def planned(small_build, now):
    replan(now=now)
    return small_build


def words_of(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(pdf)).pages)


def test_the_paper_names_van_work_place_and_what_comes_before(planned, joiner, now):
    _, pdf = job_sheet_paper(joiner, MONDAY, now)

    words = words_of(pdf)
    assert "Job sheet: Wren Alder" in words
    assert "Monday 1 March" in words
    assert "08:00 to 12:00" in words
    assert "Heron" in words
    assert "Glue up" in words
    assert "24 hours' wait" in words
    assert PdfReader(io.BytesIO(pdf)).trailer["/Root"]["/MarkInfo"]["/Marked"]


def test_days_that_are_over_are_left_out(planned, joiner, now):
    wednesday = now + timedelta(days=2)

    week = job_week(joiner, MONDAY, wednesday)

    assert [day.day for day in week.days] == [date(2027, 3, n) for n in (3, 4, 5)]


def test_a_week_that_is_over_says_so(planned, joiner, now):
    html, _ = job_sheet_paper(joiner, MONDAY - timedelta(days=7), now)

    assert "This week is over." in html


def test_only_the_persons_own_work_is_on_it(planned, now):
    other = cast.make_person("Sol Quill", "joinery")

    assert PlanRow.objects.exists()
    assert job_week(other, MONDAY, now).is_empty


def test_the_number_of_queries_does_not_grow_with_the_tasks(
    planned, joiner, now, django_assert_max_num_queries
):
    for key in ("sand", "oil", "polish"):
        cast.make_task(planned, key, place_id="bench", needs_van=False)
    replan(now=now)

    with django_assert_max_num_queries(9):
        job_week(joiner, MONDAY, now)
