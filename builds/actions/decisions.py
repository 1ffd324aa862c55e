"""What the customer must choose, by when, and what waits for it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

from builds.actions.checked import check_day, check_edition, day_words, fresh, put_fields
from builds.actions.deliveries import tasks_of
from builds.actions.door import Refused, note_in_journal, write
from builds.models import Build, Decision, Task, User
from builds.queries.opening import opening_times


def ask(
    *,
    build: Build,
    what: str,
    needed_by: date,
    tasks: Iterable[Task] = (),
    now: datetime,
    by: User | None,
) -> Decision:
    """Asks the customer something; the tasks start the day after `needed_by` at the earliest until it is
    decided. The same question twice is one. Refused when a task is another build's."""
    check_day(needed_by, "needed_by")
    with write():
        decision = Decision(build=build, needed_by=needed_by)
        _put_decision(decision, {"what": what})
        waiting = tasks_of(build, tasks)
        known = Decision.objects.filter(
            build=build, what=decision.what, needed_by=needed_by, decided_on=None
        ).first()
        if known is not None:
            return known
        decision.save()
        decision.tasks.set(waiting)
        note_in_journal(f"Asks: {decision.what}, by {day_words(needed_by)}", now=now, by=by, build=build)
    return decision


def change_decision(
    *,
    decision: Decision,
    what: str,
    needed_by: date,
    tasks: Iterable[Task],
    now: datetime,
    by: User | None,
    seen: str | None = None,
) -> Decision:
    """Changes what is asked, by when, and which tasks wait."""
    check_day(needed_by, "needed_by")
    with write():
        row = fresh(Decision, decision)
        check_edition("This question", seen, row)
        _put_decision(row, {"what": what})
        row.needed_by = needed_by
        row.save()
        row.tasks.set(tasks_of(row.build, tasks))
        note_in_journal(f"Changed the question: {row.what}", now=now, by=by, build=row.build)
    return row


def decide(
    *,
    decision: Decision,
    answer: str,
    on: date | None = None,
    now: datetime,
    by: User | None,
    seen: str | None = None,
) -> Decision:
    """Keeps what the customer chose (today unless `on`); what waited for it may go ahead."""
    with write() as shop:
        row = fresh(Decision, decision)
        check_edition("This question", seen, row)
        today = opening_times(shop).day_of(now)
        day = check_day(on or today, "on", not_after=today)
        put_fields(row, {"answer": answer}, ("answer",))
        if not row.answer:
            raise Refused("Write down what was decided.", field="answer")
        row.decided_on = day
        row.save()
        note_in_journal(f"Decided: {row.what}: {row.answer}", now=now, by=by, build=row.build)
    return row


def ask_again(
    *, decision: Decision, needed_by: date, now: datetime, by: User | None, seen: str | None = None
) -> Decision:
    """Opens a question again: the customer changed their mind, or the answer can't be had."""
    check_day(needed_by, "needed_by")
    with write():
        row = fresh(Decision, decision)
        check_edition("This question", seen, row)
        row.decided_on, row.needed_by = None, needed_by
        row.save()
        note_in_journal(f"Asks again: {row.what}", now=now, by=by, build=row.build)
    return row


def drop(*, decision: Decision, now: datetime, by: User | None) -> None:
    """Takes a question off that need not be asked; one already answered stays on record."""
    with write():
        row = fresh(Decision, decision)
        if row.decided_on is not None:
            raise Refused("It is answered and stays on record.")
        words, build = f"Took off the question: {row.what}", row.build
        row.delete()
        note_in_journal(words, now=now, by=by, build=build)


def _put_decision(decision: Decision, fields: dict[str, object]) -> None:
    put_fields(decision, fields, ("what",))
    if not decision.what:
        raise Refused("Say what must be decided.", field="what")
