"""The customer's Friday page as a paper."""

from __future__ import annotations

from datetime import datetime

from builds.models import ProgressSheet, Shop
from builds.queries.opening import opening_times
from builds.queries.sheet_words import sheet_words
from builds.reports.render import render


def progress_sheet_paper(sheet: ProgressSheet, *, sent_at: datetime | None = None) -> tuple[str, bytes]:
    """The sheet's HTML and PDF as they are now; with `sent_at`, as they are being sent."""
    shop = Shop.objects.get(pk=1)
    words = sheet_words(sheet, shop, opening_times(shop), sent_at=sent_at)
    return render("reports/progress_sheet.html", words)
