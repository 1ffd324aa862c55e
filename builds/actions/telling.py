"""Telling the crew: what they are told for this week and next stays, the forecast moves around it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from builds.actions.door import Stale, note_in_journal, write
from builds.actions.planning import replan
from builds.models import Shop, ToldRow, User
from builds.queries.capacity import this_and_next
from builds.queries.opening import opening_times
from builds.queries.planned_work import agreed_tasks, read_work
from builds.queries.told import ToTell, to_tell


@dataclass(frozen=True)
class Told:
    """What telling did: tasks told in all, and how many of them are new, changed or taken back."""

    tasks: int
    changed: int


def tell_the_crew(*, now: datetime, user: User | None) -> Told:
    """Keeps the plan of this week and next as what the crew was told.

    Made from a plan that is current; telling again with nothing changed changes nothing. Tasks told
    before that have moved beyond next week are no longer told. Raises `Stale` when somebody changes
    the shop at the same moment.
    """
    replan(now=now)
    with write(plan=False) as shop:
        if shop.plan_is_stale:
            raise Stale("The plan is being worked out anew. Wait a moment, then tell the crew.")
        times = opening_times(shop)
        today = times.day_of(now)
        wanted = to_tell(read_work(agreed_tasks().exclude(state="done")), today, times)
        changed = _keep(wanted, now)
        this, following = this_and_next(today)
        first = shop.told_monday != this
        if first or changed:
            Shop.objects.filter(pk=1).update(told_monday=this)
            weeks = f"{_short(this)} and {_short(following)}"
            note_in_journal(f"Told the crew the weeks of {weeks}, {len(wanted)} tasks", now=now, by=user)
    if changed:
        _plan_again()
        replan(now=now)
    return Told(tasks=len(wanted), changed=changed)


def _plan_again() -> None:
    """What was told is input to the plan: crews and weeks are held from now on."""
    with write():
        pass


def _keep(wanted: list[ToTell], now: datetime) -> int:
    known = {row.task_id: row for row in ToldRow.objects.exclude(task__state="done")}
    new, changed = [], []
    for told in wanted:
        row = _row(told, now)
        old = known.pop(row.task_id, None)
        if old is None:
            new.append(row)
        elif _content(old) != _content(row):
            row.pk = old.pk
            changed.append(row)
    ToldRow.objects.filter(pk__in=[row.pk for row in known.values()]).delete()
    ToldRow.objects.bulk_create(new, batch_size=200)
    ToldRow.objects.bulk_update(changed, ["monday", "start", "finish", "fitters", "told_at"], batch_size=100)
    return len(new) + len(changed) + len(known)


def _row(told: ToTell, now: datetime) -> ToldRow:
    work = told.work
    return ToldRow(
        task_id=work.pk,
        monday=told.monday,
        start=work.start,
        finish=work.finish,
        fitters=list(work.fitters),
        told_at=now,
    )


def _content(row: ToldRow) -> tuple:
    return row.monday, row.start, row.finish, row.fitters


def _short(day) -> str:
    return f"{day.day} {day:%b}"
