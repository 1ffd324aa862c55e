"""Takes back what was done by mistake; the taking back is an event too."""

from __future__ import annotations

from datetime import datetime

from builds.actions.door import Refused, write
from builds.actions.drying import project_word
from builds.actions.floor_events import Answer, By, answered_before, record
from builds.actions.floor_rules import task_for
from builds.actions.sheets_cut import take_back_cut
from builds.actions.tested import reopen_checks
from builds.models import FloorEvent, Note, Snag, Task

ON_THE_FLOOR = ("start", "tick", "half a day left", "sheet cut", "stop", "go on")
STATE_VERBS = (*ON_THE_FLOOR, "pass", "fail", "overrule", "reopen")
MAY_BE_UNDONE = (*ON_THE_FLOOR, "dry", "not yet dry", "note", "snag")


def undo(*, event: FloorEvent, by: By, now: datetime) -> Answer:
    """Takes one event back, the latest of its task first.

    Refuses signed checks, what was taken back already, and a tick after which other work has started.
    """
    with write():
        if known := answered_before(by):
            return known
        event = FloorEvent.objects.select_related("task__build", "build").get(pk=event.pk)
        if hasattr(event, "undone_by"):
            return _taken_back_before(event)
        _refuse_what_stays(event)
        task = task_for(event.task, by) if event.task else None
        if task is not None and event.verb in STATE_VERBS:
            _refuse_out_of_turn(event, task)
        answer = record("undo", "Taken back", by=by, now=now, task=task, build=event.build, undoes=event)
        _take_back(event, task, by, now)
        return answer


def last_to_undo(task: Task) -> FloorEvent | None:
    """The latest event on a task's state that may be taken back, or None."""
    rows = FloorEvent.objects.filter(task=task, verb__in=STATE_VERBS, undone_by=None)
    last = rows.exclude(outcome="refused").order_by("-happened_at", "-pk").first()
    return last if last is not None and last.verb in MAY_BE_UNDONE else None


def _taken_back_before(event: FloorEvent) -> Answer:
    return Answer(event.undone_by, event.undone_by.answer, again=True)


def _refuse_what_stays(event: FloorEvent) -> None:
    if event.outcome == "refused":
        raise Refused("This was never kept, so there is nothing to take back.")
    if event.verb in ("pass", "fail", "overrule"):
        raise Refused("A signed check stays on record. Sign it again instead.")
    if event.verb not in MAY_BE_UNDONE:
        raise Refused("This can't be taken back on the floor. Tell the owner.")


def _refuse_out_of_turn(event: FloorEvent, task: Task) -> None:
    last = last_to_undo(task)
    if last is None or last.pk != event.pk:
        raise Refused(f"Something was done to “{task.name}” since. Take the latest back first.")
    if event.verb not in ("tick", "sheet cut"):
        return
    started = task.links_out.filter(after__removed_at=None).exclude(after__started_at=None)
    follower = started.select_related("after").first()
    if follower is not None:
        raise Refused(
            f"“{follower.after.name}” has started since, so this tick stays. The owner can open it again."
        )


def _take_back(event: FloorEvent, task: Task | None, by: By, now: datetime) -> None:
    if event.verb == "tick" and task is not None:
        reopen_checks(task=task, why=f"the tick of “{task.name}” was taken back", by=by, now=now)
    elif event.verb == "sheet cut":
        take_back_cut(event, by, now)
    elif event.verb in ("dry", "not yet dry"):
        project_word(event.payload.get("link"))
    elif event.verb == "note":
        Note.objects.filter(pk=event.payload.get("note")).delete()
    elif event.verb == "snag":
        Snag.objects.filter(pk=event.payload.get("snag"), put_right_at=None).delete()
