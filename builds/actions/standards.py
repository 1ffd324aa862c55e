"""The standard library in the shop's own words: its tasks and the links between them.

A build copied what it used when it was made, so nothing here changes a build that exists.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from builds.actions.checked import check_edition, free_key, fresh, next_order, put_fields
from builds.actions.door import Refused, note_in_journal, write
from builds.actions.withdrawing import set_withdrawn
from builds.engines.composing.linking import find_loop
from builds.engines.composing.network import ComposedLink
from builds.models import (
    Caution,
    InstallationKind,
    Place,
    StandardHoldPoint,
    StandardLink,
    StandardTask,
    Trade,
    UnitKind,
    User,
)

TASK_FIELDS = (
    "name",
    "phase",
    "trade",
    "place",
    "crew",
    "hours_low",
    "hours_likely",
    "hours_high",
    "scaled",
    "same_day",
    "needs_van",
    "claims_van",
    "closes_up",
    "dries_here_hours",
    "rack_hours",
    "reminder",
    "caution",
    "materials",
    "why",
)
LINK_FIELDS = ("wait_hours", "latest_hours", "match", "why")

OWN = "the shop's own"
LONGEST_HOURS = Decimal(200)
LONGEST_WAIT_HOURS = Decimal(24 * 120)


@dataclass(frozen=True)
class Joined:
    """A link asked for: with which other task (by key), and the clock hours waited."""

    task: str
    wait_hours: Decimal = Decimal(0)


def change_task(
    *,
    task: StandardTask,
    fields: Mapping[str, object],
    now: datetime,
    by: User | None,
    seen: str | None = None,
) -> StandardTask:
    """Changes a standard task's fields by name (see TASK_FIELDS); hours are working hours of the crew."""
    with write(plan=False):
        row = fresh(StandardTask, task)
        check_edition(row.name, seen, row)
        _put_task(row, fields)
        note_in_journal(f"Changed the standard task {row.name}", now=now, by=by)
    return row


def add_task(
    *,
    name: str,
    scope: str,
    fields: Mapping[str, object],
    after: Iterable[Joined] = (),
    before: Iterable[Joined] = (),
    hold_point: str = "",
    now: datetime,
    by: User | None,
) -> StandardTask:
    """Adds a standard task with its links.

    `scope` is "van", "furniture", "unit:<kind>" ("unit:*" for all) or "installation:<kind>". It comes
    `after` and `before` the tasks given. Refused where the links would make a loop, with its path.
    """
    with write(plan=False):
        key = free_key(StandardTask, name)
        row = StandardTask(order=next_order(StandardTask), basis=OWN, key=key)
        row.scope = _checked_scope(scope)
        row.hold_point = _known(StandardHoldPoint, hold_point, "hold_point")
        if StandardTask.objects.filter(name__iexact=name.strip(), withdrawn=False).exists():
            raise Refused("There is a standard task of that name.", field="name")
        _put_task(row, {"name": name, **fields})
        for joined in after:
            _join(joined.task, row.key, {"wait_hours": joined.wait_hours}, "after")
        for joined in before:
            _join(row.key, joined.task, {"wait_hours": joined.wait_hours}, "before")
        note_in_journal(f"Added the standard task {row.name}", now=now, by=by)
    return row


def withdraw_task(
    *, task: StandardTask, withdrawn: bool = True, now: datetime, by: User | None
) -> StandardTask:
    """Leaves a task out of new builds, or brings it back. Its followers inherit what it waited for.

    Refused for a task with a check that no build may go without.
    """
    with write(plan=False):
        row = fresh(StandardTask, task)
        check = StandardHoldPoint.objects.filter(key=row.hold_point, may_overrule=False).first()
        if withdrawn and row.hold_point and check is not None:
            raise Refused(
                f"It carries the check “{check.name}”, which is never left out. "
                "Where a van has no such installation, leave that out of the build."
            )
        set_withdrawn(row, withdrawn, "standard task", now=now, by=by)
    return row


def _put_task(row: StandardTask, fields: Mapping[str, object]) -> None:
    put_fields(row, fields, TASK_FIELDS)
    if not row.name:
        raise Refused("A task needs a name.", field="name")
    if not Trade.objects.filter(key=row.trade).exists():
        raise Refused("There is no such trade.", field="trade")
    if not Place.objects.filter(key=row.place).exists():
        raise Refused("There is no such place.", field="place")
    _known(Caution, row.caution, "caution")
    _check_hours(row)
    if not 1 <= row.crew <= 8:
        raise Refused("A crew is one to eight people.", field="crew")
    row.save()


def _check_hours(row: StandardTask) -> None:
    if row.hours_low <= 0:
        raise Refused("Work takes more than no time.", field="hours_low")
    if row.hours_likely < row.hours_low:
        raise Refused("The likely hours are fewer than the low ones.", field="hours_likely")
    if row.hours_high < row.hours_likely:
        raise Refused("The high hours are fewer than the likely ones.", field="hours_high")
    if row.hours_high > LONGEST_HOURS:
        raise Refused(f"More than {LONGEST_HOURS} hours are several tasks.", field="hours_high")
    for field in ("dries_here_hours", "rack_hours"):
        if not 0 <= getattr(row, field) <= LONGEST_WAIT_HOURS:
            raise Refused("That is 0 hours to 120 days.", field=field)


def _checked_scope(scope: str) -> str:
    how, _, names = scope.partition(":")
    kinds = {"unit": UnitKind, "installation": InstallationKind}
    if how in ("van", "furniture") and not names:
        return scope
    if how == "unit" and names == "*":
        return scope
    if how in kinds and kinds[how].objects.filter(key=names).exists():
        return scope
    raise Refused("Say for what the task is done.", field="scope")


def _known(model, key: str, field: str) -> str:
    if key and not model.objects.filter(key=key).exists():
        raise Refused("There is no such choice.", field=field)
    return key


def add_link(
    *,
    before: StandardTask,
    after: StandardTask,
    fields: Mapping[str, object] | None = None,
    now: datetime,
    by: User | None,
) -> StandardLink:
    """Says that one standard task comes before another; further fields by name (see LINK_FIELDS).

    Refused where that makes a loop, with its path.
    """
    with write(plan=False):
        link = _join(before.key, after.key, fields or {}, "task")
        note_in_journal(f"{before.name} now comes before {after.name}", now=now, by=by)
    return link


def change_link(
    *,
    link: StandardLink,
    fields: Mapping[str, object],
    now: datetime,
    by: User | None,
    seen: str | None = None,
) -> StandardLink:
    """Changes a link's wait or window, whose task it is, or why (see LINK_FIELDS); hours of the clock."""
    with write(plan=False):
        row = fresh(StandardLink, link)
        check_edition("This link", seen, row)
        _put_link(row, fields)
        words = f"{row.after.name} waits {row.wait_hours.normalize():f} h after {row.before.name}"
        note_in_journal(words, now=now, by=by)
    return row


def remove_link(*, link: StandardLink, now: datetime, by: User | None) -> None:
    """Takes a link out of the library."""
    with write(plan=False):
        row = fresh(StandardLink, link)
        words = f"{row.after.name} waits for {row.before.name} no more"
        row.delete()
        note_in_journal(words, now=now, by=by)


def _join(before: str, after: str, fields: Mapping[str, object], field: str) -> StandardLink:
    names = dict(StandardTask.objects.values_list("key", "name"))
    if before not in names or after not in names:
        raise Refused("There is no such standard task.", field=field)
    if StandardLink.objects.filter(before_id=before, after_id=after).exists():
        raise Refused(f"“{names[before]}” comes before “{names[after]}” already.", field=field)
    loop = _loop_with(before, after)
    if loop:
        path = " → ".join(names[key] for key in loop)
        raise Refused(f"That makes a loop: {path}.", field=field)
    link = StandardLink(before_id=before, after_id=after)
    _put_link(link, fields)
    return link


def _loop_with(before: str, after: str) -> tuple[str, ...] | None:
    if before == after:
        return before, after
    known = StandardLink.objects.values_list("before_id", "after_id")
    return find_loop([ComposedLink(*pair) for pair in known], [ComposedLink(before, after)])


def _put_link(link: StandardLink, fields: Mapping[str, object]) -> None:
    put_fields(link, fields, LINK_FIELDS)
    if not 0 <= link.wait_hours <= LONGEST_WAIT_HOURS:
        raise Refused("A wait is 0 hours to 120 days.", field="wait_hours")
    if link.latest_hours is not None and link.latest_hours < link.wait_hours:
        raise Refused("The latest start is before the wait is over.", field="latest_hours")
    link.save()
