"""What a fitter says of a coat or a bond on the day: dry, or not yet and so many hours more."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from builds.actions.door import Gone, Refused, write
from builds.actions.floor_events import Answer, By, answered_before, dry_word, hours_from, record, when
from builds.models import Link
from builds.queries.readiness import clock_words


def say_dry(*, link: Link, by: By, now: datetime) -> Answer:
    """Ends the wait on one link: it is dry now, whatever the figure said."""
    with write():
        if known := answered_before(by):
            return known
        return _say(link, "dry", when(by, now), "Dry", by, now)


def not_dry_yet(*, link: Link, hours_more, by: By, now: datetime) -> Answer:
    """Stretches the wait on one link: so many clock hours more from now."""
    with write() as shop:
        if known := answered_before(by):
            return known
        hours = hours_from(hours_more, field="hours_more", most="240")
        at = when(by, now)
        dry_at = at + timedelta(hours=float(hours))
        words = f"Not dry before {clock_words(dry_at, at, ZoneInfo(shop.zone))}"
        return _say(link, "not yet dry", dry_at, words, by, now)


def _say(link: Link, verb: str, dry_at: datetime, words: str, by: By, now: datetime) -> Answer:
    link = Link.objects.select_related("before", "after__build").filter(pk=link.pk).first()
    if link is None:
        raise Gone("That wait is not there any more.")
    if link.before.finished_at is None:
        raise Refused(f"“{link.before.name}” is not ticked, so nothing dries yet.")
    if link.after.state != "to do" and not by.is_late:
        raise Refused(f"“{link.after.name}” has started; the wait before it is over.")
    payload = {"link": link.pk, "dry_at": dry_at.isoformat()}
    answer = record(verb, words, by=by, now=now, task=link.after, payload=payload)
    project_word(link.pk)
    return answer


def project_word(link: int | None) -> None:
    """Works out anew what the fitters' last word on a link is. Call inside a write."""
    row = Link.objects.select_related("before").filter(pk=link).first()
    if row is not None:
        row.dry_at = dry_word(row, row.before.finished_at)
        row.save(update_fields=["dry_at"])
