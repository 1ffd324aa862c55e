"""The owner's word where the floor does not agree: which of two doings counts, or that it was seen.

Nothing is taken away. The word is an event of its own, about the one that came last; it bears on the
task's state as `engines.floor.projection` has it (rule 8), and the last word counts.
"""

from __future__ import annotations

from datetime import datetime

from builds.actions.door import Gone, Refused, note_in_journal, write
from builds.actions.floor_events import Answer, By, answered_before, fresh_task, record
from builds.actions.tested import reopen_checks
from builds.models import FloorEvent, Task, User

THIS, THAT, SEEN = "this", "that", "seen"
NO_LONGER_DONE = ("start", "stop", "half a day left")


def settle(*, event: FloorEvent, keep: str, user: User, now: datetime, uuid=None) -> Answer:
    """Settles one line: "this" keeps what came last, "that" what was there before, "seen" changes nothing.

    "this" and "that" are for two doings that disagree; checks behind work that is not done after all are
    to be done again. What was refused, and what came for work that is not in the plan, can only be seen.
    """
    by = By(user=user, uuid=uuid)
    with write():
        if known := answered_before(by):
            return known
        event = FloorEvent.objects.select_related("task__build", "build").filter(pk=event.pk).first()
        if event is None:
            raise Gone("That is not there any more.")
        payload = _verdict(event, keep)
        task = fresh_task(event.task) if event.task and payload else None
        winner = _winner(event, payload)
        if task is not None and winner.verb in NO_LONGER_DONE:
            _refuse_signed(task)
        words = _words(winner, keep)
        answer = record(
            "settle", words, by=by, now=now, task=task, build=event.build, payload=payload, about=event
        )
        if task is not None and winner.verb in NO_LONGER_DONE and task.state != "done":
            reopen_checks(task=task, why=f"“{task.name}” is not done after all", by=by, now=now)
        note_in_journal(f"Settled: {words}", now=now, by=user, build=event.build)
        return answer


def _verdict(event: FloorEvent, keep: str) -> dict:
    is_open = event.outcome == "to settle" or (event.outcome == "refused" and event.device_at is not None)
    if not is_open:
        raise Refused("There is nothing to settle about this.")
    if keep == SEEN:
        return {}
    if keep not in (THIS, THAT):
        raise Refused("Choose which of the two counts.", field="keep")
    over = event.payload.get("over") if event.outcome == "to settle" else None
    if not over:
        raise Refused("This can only be seen; it changes nothing in the plan.", field="keep")
    return {"event": event.pk, "over": over, "keep": event.pk if keep == THIS else over}


def _winner(event: FloorEvent, payload: dict) -> FloorEvent:
    if not payload or payload["keep"] == event.pk:
        return event
    return FloorEvent.objects.select_related("task").get(pk=payload["keep"])


def _refuse_signed(task: Task) -> None:
    check = getattr(task, "hold_point", None)
    if check is not None and check.lets_followers_start:
        raise Refused(f"“{check.name}” is signed. Open the check again instead.")


def _words(winner: FloorEvent, keep: str) -> str:
    what = f"“{winner.verb}” of “{winner.task.name}”" if winner.task else f"“{winner.verb}”"
    return f"seen, {what}" if keep == SEEN else f"{what} by {winner.person or winner.user} counts"
