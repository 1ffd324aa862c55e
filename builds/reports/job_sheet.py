"""A fitter's week as a paper."""

from __future__ import annotations

from datetime import date, datetime

from builds.models import Person
from builds.queries.job_week import job_week
from builds.reports.render import render


def job_sheet_paper(person: Person, monday: date, now: datetime) -> tuple[str, bytes]:
    """The job sheet's HTML and PDF for the week of `monday`."""
    return render("reports/job_sheet.html", job_week(person, monday, now))
