"""Material totals as a paper: by material, by supplier, with the rule behind each figure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from builds.models import Build, Shop
from builds.queries.material_totals import material_totals
from builds.reports.render import render


def material_totals_paper(builds: Sequence[Build], now: datetime, *, shop: Shop) -> tuple[str, bytes]:
    """The totals of these builds as HTML and PDF."""
    return render("reports/material_totals.html", material_totals(builds, now, shop=shop))
