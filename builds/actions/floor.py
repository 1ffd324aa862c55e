"""What a fitter does to a task: start, tick, half a day left, stop, go on; and what undoes it.

The rules hold for every route that leads here, an offline queue included: nothing starts before the work
before it is done, its waits are over and its checks have passed; licensed work needs a named competent
person; a part not found on the kit shelf has to be confirmed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from builds.actions.door import Refused, note_in_journal, write
from builds.actions.drying import not_dry_yet, say_dry
from builds.actions.evidence import add_note, add_photo, add_snag, put_right
from builds.actions.floor_events import Answer, By, answered_before, hours_from, record, words_from
from builds.actions.floor_rules import (
    NeedsName,
    NeedsPhoto,
    NeedsWord,
    crew_with,
    may_start,
    refuse_done,
    refuse_open_check,
    task_for,
)
from builds.actions.tested import behind_open_checks, reopen_after_added_work, reopen_checks
from builds.actions.undo import undo
from builds.models import Build, Task, User

__all__ = [
    "Answer",
    "BulkTicked",
    "By",
    "NeedsName",
    "NeedsPhoto",
    "NeedsWord",
    "add_note",
    "add_photo",
    "add_snag",
    "bulk_tick",
    "go_on",
    "half_a_day_left",
    "not_dry_yet",
    "put_right",
    "reopen",
    "say_dry",
    "start_task",
    "stop_task",
    "tick_task",
    "undo",
]

STOP_REASONS = (
    "parts not found",
    "waits for another trade",
    "place is taken",
    "needs a decision",
    "broken or wrong",
)
"""Reasons offered on the floor; any other may be typed."""


def start_task(
    *,
    task: Task,
    by: By,
    now: datetime,
    found_anyway: bool = False,
    competent_person: str = "",
    without_photos: bool = False,
) -> Answer:
    """Starts a task, or joins the crew that is on it.

    Refuses with the reason when it can't start yet; NeedsWord when something is not on the shelf and
    `found_anyway` was not said; NeedsName for licensed work without a competent person; NeedsPhoto for
    work that closes up what is behind it, unless `without_photos` was said.
    """
    with write() as shop:
        if known := answered_before(by):
            return known
        task = task_for(task, by)
        if task.state == "done" and not by.is_late:
            raise Refused(f"“{task.name}” is ticked already. Undo the tick to go on with it.")
        payload = may_start(task, by, now, shop, found_anyway, competent_person, without_photos)
        payload["crew"] = crew_with(task, by)
        return record("start", "Started", by=by, now=now, task=task, payload=payload)


def tick_task(
    *,
    task: Task,
    hours,
    by: By,
    now: datetime,
    competent_person: str = "",
    without_photos: bool = False,
) -> Answer:
    """Ticks a task off with the working hours its crew took. It need not have been started by a tap.

    A second tick by somebody else is kept beside the first.
    """
    with write() as shop:
        if known := answered_before(by):
            return known
        task = task_for(task, by)
        taken = hours_from(hours, field="hours")
        refuse_open_check(task)
        payload = may_start(task, by, now, shop, True, competent_person, without_photos)
        payload |= {"hours": str(taken), "crew": crew_with(task, by)}
        words = "It was ticked before; both are kept" if task.state == "done" else "Done"
        answer = record("tick", words, by=by, now=now, task=task, payload=payload)
        reopen_after_added_work(task=task, by=by, now=now)
        return answer


def half_a_day_left(
    *,
    task: Task,
    hours_left,
    by: By,
    now: datetime,
    competent_person: str = "",
    without_photos: bool = False,
) -> Answer:
    """Says that a task goes on tomorrow, and about how many working hours are left."""
    with write() as shop:
        if known := answered_before(by):
            return known
        task = task_for(task, by)
        left = hours_from(hours_left, field="hours_left")
        refuse_done(task, by)
        payload = may_start(task, by, now, shop, True, competent_person, without_photos)
        payload |= {"hours_left": str(left), "crew": crew_with(task, by)}
        words = f"Goes on, {left.normalize():f} h left"
        return record("half a day left", words, by=by, now=now, task=task, payload=payload)


def stop_task(*, task: Task, reason: str, by: By, now: datetime) -> Answer:
    """Stops a task and says why; it may be stopped before it was started."""
    with write():
        if known := answered_before(by):
            return known
        task = task_for(task, by)
        reason = words_from(reason, field="reason", most=200, needed="Say why it stopped.")
        refuse_done(task, by)
        return record("stop", f"Stopped: {reason}", by=by, now=now, task=task, payload={"reason": reason})


def go_on(
    *,
    task: Task,
    by: By,
    now: datetime,
    found_anyway: bool = True,
    competent_person: str = "",
    without_photos: bool = False,
) -> Answer:
    """Goes on with a stopped task, if it may be started at all."""
    with write() as shop:
        if known := answered_before(by):
            return known
        task = task_for(task, by)
        if task.state != "stopped" and not by.is_late:
            raise Refused(f"“{task.name}” is not stopped.")
        payload = may_start(task, by, now, shop, found_anyway, competent_person, without_photos)
        payload["crew"] = crew_with(task, by)
        return record("go on", "Goes on", by=by, now=now, task=task, payload=payload)


def reopen(*, task: Task, why: str, hours_left, user: User, now: datetime, uuid=None) -> Answer:
    """Opens a ticked task again for rework; checks of what it touches are to be done again."""
    by = By(user=user, uuid=uuid)
    with write():
        if known := answered_before(by):
            return known
        task = task_for(task, by)
        why = words_from(why, field="why", most=200, needed="Say why it is opened again.")
        left = hours_from(hours_left, field="hours_left")
        if task.state != "done":
            raise Refused(f"“{task.name}” is not ticked, so there is nothing to open again.")
        if hasattr(task, "hold_point") and task.hold_point.state != "due":
            raise Refused("A signed check is opened again as a check, not as a task.")
        answer = record(
            "reopen",
            f"Opened again: {why}",
            by=by,
            now=now,
            task=task,
            payload={"reason": why, "hours_left": str(left)},
        )
        reopen_checks(task=task, why=f"“{task.name}” was opened again", by=by, now=now)
        note_in_journal(f"Opened “{task.name}” again: {why}", now=now, by=user, build=task.build)
        return answer


@dataclass(frozen=True)
class BulkTicked:
    """What a bulk tick did: the tasks ticked, and those left, each with why.

    `checks_left` carry a check that is not on record, `held` come after one (by its name), `unnamed` are
    licensed work whose competent person was not named.
    """

    ticked: tuple[Task, ...]
    checks_left: tuple[Task, ...]
    held: tuple[tuple[Task, str], ...] = ()
    unnamed: tuple[Task, ...] = ()


def bulk_tick(
    *, build: Build, tasks: Iterable[Task], user: User, now: datetime, competent_person: str = ""
) -> BulkTicked:
    """Ticks off what was done on a half-built van before the tool arrived; asks for no dates.

    Left to do are tasks that carry a check, and those after one that is open: what was never recorded is
    still to be checked, or to be overruled in writing where that may be. So is licensed work, unless the
    competent person is named. Tasks of other builds, removed or done ones count for nothing.
    """
    with write():
        wanted = [t.pk for t in tasks]
        rows = Task.objects.kept().filter(pk__in=wanted, build=build).exclude(state="done")
        rows = list(rows.select_related("hold_point", "build", "trade"))
        named = competent_person.replace("\x00", "").strip()[:120]
        behind = behind_open_checks(build.pk)
        checks = [t for t in rows if hasattr(t, "hold_point") and not t.hold_point.lets_followers_start]
        held = [(t, behind[t.pk]) for t in rows if t.pk in behind and t not in checks]
        left = {*checks, *(t for t, _ in held)}
        unnamed = [t for t in rows if t.trade.licensed and not named and t not in left]
        ticked = [t for t in rows if t not in left and t not in unnamed]
        for task in ticked:
            payload = {"competent_person": named} if task.trade.licensed else {}
            record("bulk tick", "Done before", by=By(user=user), now=now, task=task, payload=payload)
        if ticked:
            note_in_journal(f"Ticked {len(ticked)} tasks as done before", now=now, by=user, build=build)
    return BulkTicked(tuple(ticked), tuple(checks), tuple(held), tuple(unnamed))
