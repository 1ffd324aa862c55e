"""What was tested and what changed since: a signed check is opened again when what it tested changes.

A change is a tick taken back, work opened again or taken out, other material or another trade for work
that is done, and new work on the same installation, unit or licensed trade; a new unit or installation
also opens the weighing. New work comes before the check that tests it, unless the owner put it behind:
then the check is opened again when that work is ticked.
"""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from builds.actions.door import Refused, write
from builds.actions.floor_events import Answer, By, record
from builds.engines.floor.judging import judge
from builds.models import CheckRecord, HoldPoint, Link, Task

RECHECK_HOURS = Decimal("1.00")
"""What a check done again is planned with, at most. Common practice, no source."""


def reopen_checks(*, task: Task, why: str, by: By, now: datetime) -> tuple[HoldPoint, ...]:
    """Opens again the signed checks that tested what `task` touches. Call it when tested work changes.

    These are the checks right after the task, and those further on that share its installation, its unit
    or its licensed trade.
    """
    with write():
        after = followers(task.build_id)
        next_ones, behind = after.get(task.pk, set()), reached_from(task.pk, after)
        found = [
            check
            for check in _checks(task)
            if check.task_id in next_ones or (check.task_id in behind and _tests(check, task))
        ]
        return _changed(found, why, by, now)


def reopen_for_new_work(*, task: Task, by: By, now: datetime) -> tuple[HoldPoint, ...]:
    """New work on what was tested: its checks are to be done again, after the new work."""
    with write():
        after = followers(task.build_id)
        behind = reached_from(task.pk, after)
        found = [
            check
            for check in _checks(task)
            if _tests(check, task) and task.pk not in reached_from(check.task_id, after)
        ]
        for check in found:
            if check.lets_followers_start and check.task_id not in behind:
                Link.objects.create(before=task, after=check.task, why="it tests this work")
        return _changed(found, f"“{task.name}” was added", by, now)


def reopen_after_added_work(*, task: Task, by: By, now: datetime) -> tuple[HoldPoint, ...]:
    """Work that the owner added behind a check of the same installation is ticked: the check opens again."""
    if not task.key.startswith("own-") or task.standard:
        return ()
    after = followers(task.build_id)
    found = [c for c in _checks(task) if _tests(c, task) and task.pk in reached_from(c.task_id, after)]
    return _changed(found, f"“{task.name}” was done since", by, now)


def _changed(tested: list[HoldPoint], why: str, by: By, now: datetime) -> tuple[HoldPoint, ...]:
    """What these test was changed: the signed ones open again, and signatures on their way count no more."""
    HoldPoint.objects.filter(pk__in=[check.pk for check in tested]).update(changed_at=now)
    signed = tuple(check for check in tested if check.lets_followers_start)
    for check in signed:
        open_again(check, why, by, now)
    return signed


def refuse_overtaken(check: HoldPoint, at: datetime) -> None:
    """Refuses a pass signed at `at`, on a tablet without network, if the check knows of something later.

    That is a fail, a reopening, or a change of what it tests; else a test of what was there before would
    let the followers of what is there now start.
    """
    later = check.records.filter(at__gt=at, outcome__in=("failed", "reopened")).order_by("-at", "-pk").first()
    if later is not None:
        became = "failed" if later.outcome == "failed" else "was opened again"
        raise Refused(f"“{check.name}” {became} after this was signed. Do the check again.")
    finished = Task.objects.filter(links_out__after=check.task_id, removed_at=None, finished_at__gt=at)
    if (check.changed_at and check.changed_at > at) or finished.exists():
        raise Refused(f"What “{check.name}” tests was changed after this was signed. Do the check again.")


def behind_open_checks(build: int) -> dict[int, str]:
    """Every task of a build that comes somewhere after an open check, with the name of one such check."""
    after = followers(build)
    rows = HoldPoint.objects.filter(task__build=build, task__removed_at=None)
    held: dict[int, str] = {}
    for check in rows.exclude(state__in=("passed", "overruled")):
        held |= dict.fromkeys(reached_from(check.task_id, after), check.name)
    return held


def _tests(check: HoldPoint, task: Task) -> bool:
    """Whether a check tests what a task works on."""
    tested = check.task
    if check.kind == "weighing":
        return bool(task.installation_id or task.unit_id)
    same_installation = tested.installation_id and tested.installation_id == task.installation_id
    same_unit = tested.unit_id and tested.unit_id == task.unit_id
    licensed = check.licensed_trade or (tested.trade_id if tested.trade.licensed else "")
    return bool(same_installation or same_unit or (licensed and licensed == task.trade_id))


def _checks(task: Task) -> list[HoldPoint]:
    """The other checks of the task's van."""
    rows = HoldPoint.objects.filter(task__build=task.build_id, task__removed_at=None)
    return list(rows.exclude(task=task.pk).select_related("task__trade", "task__build"))


def followers(build: int) -> dict[int, set[int]]:
    """For every task of a build, those right after it."""
    after: dict[int, set[int]] = {}
    pairs = Link.objects.filter(before__build=build, after__removed_at=None)
    for first, then in pairs.values_list("before_id", "after_id"):
        after.setdefault(first, set()).add(then)
    return after


def reached_from(task: int, after: dict[int, set[int]]) -> set[int]:
    """Every task somewhere after `task`."""
    reached: set[int] = set()
    ahead: list[int] = list(after.get(task, ()))
    while ahead:
        number = ahead.pop()
        if number not in reached:
            reached.add(number)
            ahead += after.get(number, ())
    return reached


def open_again(check: HoldPoint, why: str, by: By, now: datetime) -> None:
    """Marks a signed check as to be done again, on record; its task is to do once more."""
    payload = {"hold_point": check.pk, "reason": why[:200], "hours_left": str(recheck_hours(check.task))}
    own = By(person=by.person, user=by.user, tablet=by.tablet)
    task = Task.objects.select_related("build", "trade").get(pk=check.task_id)
    answer = record("check again", why[:300], by=own, now=now, task=task, payload=payload)
    keep_record(check, "reopened", answer, judge([], {}), why[:400], "", "")


def recheck_hours(task: Task) -> Decimal:
    return min(task.hours, RECHECK_HOURS)


def keep_record(check: HoldPoint, state, answer: Answer, judged, note, named, certificate) -> None:
    """Writes the check's new state and the row that stays on record."""
    check.state = state
    check.competent_person = named or check.competent_person
    check.certificate = certificate or ("" if state in ("reopened", "failed") else check.certificate)
    check.save(update_fields=["state", "competent_person", "certificate"])
    event = answer.event
    CheckRecord.objects.create(
        hold_point=check,
        outcome=state,
        readings=judged.readings,
        remarks=list(judged.remarks),
        note=note,
        person=event.person,
        user=event.user,
        competent_person=named,
        certificate=certificate,
        at=event.happened_at,
    )
