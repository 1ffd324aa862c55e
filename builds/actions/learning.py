"""What the shop's own hours teach: the owner takes other hours into the library, or leaves it as it is.

New builds use what was taken in; work that exists keeps the hours it was planned with.
"""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from builds.actions.checked import fresh
from builds.actions.door import Refused, Stale, note_in_journal, write
from builds.actions.standards import change_task
from builds.models import StandardTask, User
from builds.queries.learned_hours import LearnedHours, learned_hours
from builds.templatetags.words import hours as hours_words


def take_hours(
    *, task: StandardTask, likely: Decimal | None = None, now: datetime, by: User | None
) -> StandardTask:
    """Puts the suggested hours into the library. `likely` are those the owner saw suggested.

    Refused where nothing is suggested any more, or something else than was seen.
    """
    with write(plan=False):
        found = _suggested(task)
        low, middle, high = (Decimal(str(h)) for h in found.suggestion or ())
        if likely is not None and likely != middle:
            raise Stale(
                f"“{found.name}” has more cases by now, and {hours_words(middle)} is suggested. Look again."
            )
        fields = {"hours_low": low, "hours_likely": middle, "hours_high": high}
        row = change_task(task=task, fields=fields, now=now, by=by)
        row.declined_cases = 0
        row.basis = f"this shop's own hours, {found.cases} cases"
        row.save(update_fields=["declined_cases", "basis"])
        before = hours_words(found.planned[1])
        note_in_journal(
            f"{row.name}: {hours_words(middle)} instead of {before}, from {found.cases} cases", now=now, by=by
        )
    return row


def leave_hours(*, task: StandardTask, now: datetime, by: User | None) -> StandardTask:
    """Leaves the library's hours; the same is suggested again only after some more cases."""
    with write(plan=False):
        found = _suggested(task)
        row = fresh(StandardTask, task)
        row.declined_cases = found.cases
        row.save(update_fields=["declined_cases"])
        note_in_journal(f"{row.name}: left at {hours_words(found.planned[1])}", now=now, by=by)
    return row


def _suggested(task: StandardTask) -> LearnedHours:
    found = next(iter(learned_hours(task.key)), None)
    if found is None or not found.is_open:
        raise Refused(f"No other hours are suggested for “{task.name}” any more.")
    return found
