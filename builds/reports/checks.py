"""The hold points of a build as a paper."""

from __future__ import annotations

from datetime import datetime

from builds.models import Build
from builds.queries.checks_paper import checks_paper
from builds.reports.render import render


def checks_of_build(build: Build, now: datetime) -> tuple[str, bytes]:
    """The paper's HTML and PDF."""
    return render("reports/checks.html", checks_paper(build, now))
