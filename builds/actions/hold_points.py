"""Checks that hold: signed with readings, failed and done again, overruled in writing, opened again.

Nothing after a check starts before it is passed or overruled; `floor.refuse_early` sees to that for
every route. A person passes or fails a check; the readings are only held against their limits.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any

from builds.actions.door import Gone, Refused, note_in_journal, write
from builds.actions.floor_events import Answer, By, answered_before, hours_from, record, when, words_from
from builds.actions.floor_rules import name_competent, refuse_early, task_for
from builds.actions.pins import check_pin
from builds.engines.floor.judging import judge
from builds.models import CheckRecord, HoldPoint, Link, Snag, Task, User
from builds.queries.certificates import certificates_missing

RECHECK_HOURS = Decimal("1.00")
"""What a check done again is planned with, at most. Common practice, no source."""


class Unreadable(Refused):
    """Readings that are missing or can't be read; `errors` has the words for each field."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        first = next(iter(errors))
        super().__init__("Some readings are missing or can't be read.", field=first)
        self.errors = dict(errors)


def pass_check(
    *,
    hold_point: HoldPoint,
    readings: Mapping[str, Any],
    by: By,
    now: datetime,
    pin: str = "",
    hours=None,
    competent_person: str = "",
    certificate: str = "",
    note: str = "",
) -> Answer:
    """Signs a check as passed and ticks its task, with `hours` where they are given.

    Readings outside their limits are remarked on and pass only with a note. Refuses without the PIN
    (on a tablet), the competent person where the trade is licensed, the photo where one is wanted, and
    a handover while a certificate is missing.
    """
    _sign_in(by, pin, now)
    with write() as shop:
        if known := answered_before(by):
            return known
        check, task = _fresh(hold_point, by)
        if check.state == "passed" and not by.is_late:
            raise Refused(f"“{check.name}” is passed already.")
        judged = judge(check.fields, readings)
        if judged.errors:
            raise Unreadable(judged.errors)
        note = note.replace("\x00", "").strip()[:400]
        if judged.remarks and not note:
            raise Refused(
                f"{_sentence(judged.remarks)} To pass it all the same, say why in a note.", field="note"
            )
        refuse_early(task, when(by, now), shop)
        named = _competent_for(check, task, by, competent_person)
        _refuse_unproved(check, task)
        certificate = certificate.replace("\x00", "").strip()[:120]
        payload = {"hold_point": check.pk, **({"competent_person": named} if named else {})}
        if hours not in (None, ""):
            payload["hours"] = str(hours_from(hours, field="hours"))
        answer = record("pass", f"“{check.name}” passed", by=by, now=now, task=task, payload=payload)
        _keep_record(check, "passed", answer, judged, note, named, certificate)
        Snag.objects.filter(hold_point=check, put_right_at=None).update(
            put_right_at=answer.event.happened_at, put_right_by=by.person
        )
        return answer


def fail_check(
    *,
    hold_point: HoldPoint,
    readings: Mapping[str, Any],
    note: str,
    by: By,
    now: datetime,
    pin: str = "",
    competent_person: str = "",
) -> Answer:
    """Signs a check as failed: a snag is opened, the task is stopped and waits for a recheck."""
    _sign_in(by, pin, now)
    with write() as shop:
        if known := answered_before(by):
            return known
        check, task = _fresh(hold_point, by)
        note = words_from(note, field="note", most=400, needed="Say what was found.")
        judged = judge([{**f, "must": False} for f in check.fields], readings)
        if judged.errors:
            raise Unreadable(judged.errors)
        refuse_early(task, when(by, now), shop)
        named = _competent_for(check, task, by, competent_person)
        payload = {"hold_point": check.pk, "hours_left": str(_recheck_hours(task))}
        payload |= {"competent_person": named} if named else {}
        words = f"“{check.name}” failed; it waits for a recheck"
        answer = record("fail", words, by=by, now=now, task=task, payload=payload)
        _keep_record(check, "failed", answer, judged, note, named, "")
        Snag.objects.create(
            build=task.build,
            task=task,
            hold_point=check,
            text=f"{check.name} failed: {note}"[:400],
            person=by.person,
            at=answer.event.happened_at,
        )
        return answer


def overrule_check(*, hold_point: HoldPoint, reason: str, user: User, now: datetime, uuid=None) -> Answer:
    """Lets the followers start without a pass, on the owner's written reason. Never gas, mains or seats."""
    by = By(user=user, uuid=uuid)
    with write():
        if known := answered_before(by):
            return known
        check, task = _fresh(hold_point, by)
        if not check.may_overrule or check.licensed_trade:
            raise Refused(f"“{check.name}” can't be overruled. It has to pass.")
        if check.lets_followers_start:
            raise Refused(f"“{check.name}” holds nothing up any more.")
        _refuse_handover(check, task)
        reason = words_from(reason, field="reason", most=400, needed="Write the reason; it stays on record.")
        payload = {"hold_point": check.pk, "reason": reason}
        answer = record("overrule", f"“{check.name}” overruled", by=by, now=now, task=task, payload=payload)
        _keep_record(check, "overruled", answer, judge([], {}), reason, "", "")
        note_in_journal(f"Overruled “{check.name}”: {reason}", now=now, by=user, build=task.build)
        return answer


def file_certificate(*, hold_point: HoldPoint, reference: str, now: datetime, by: User) -> HoldPoint:
    """Notes the certificate's reference after the test; the handover waits for it."""
    with write(plan=False):
        check = HoldPoint.objects.select_related("task__build").get(pk=hold_point.pk)
        check.certificate = words_from(
            reference, field="certificate", most=120, needed="Write the reference on the certificate."
        )
        check.save(update_fields=["certificate"])
        what = f"Filed certificate {check.certificate} for “{check.name}”"
        note_in_journal(what, now=now, by=by, build=check.task.build)
    return check


def reopen_check(*, hold_point: HoldPoint, why: str, user: User, now: datetime) -> None:
    """Asks for a signed check to be done again; its task is to do once more."""
    with write():
        check, _ = _fresh(hold_point, By(user=user))
        why = words_from(why, field="why", most=400, needed="Say why it has to be checked again.")
        if not check.lets_followers_start:
            raise Refused(f"“{check.name}” is still to be checked.")
        _open_again(check, why, By(user=user), now)
        note_in_journal(
            f"“{check.name}” to be checked again: {why}", now=now, by=user, build=check.task.build
        )


def reopen_checks(*, task: Task, why: str, by: By, now: datetime) -> tuple[HoldPoint, ...]:
    """Opens again the signed checks that tested what `task` touches. Call it when tested work changes.

    These are the checks right after the task, and those further on that share its installation, its unit
    or its licensed trade.
    """
    with write():
        signed = [(c, is_next) for c, is_next in _checks_after(task) if c.lets_followers_start]
        found = [check for check, is_next in signed if is_next or _tests_the_same(check.task, task)]
        for check in found:
            _open_again(check, why, by, now)
    return tuple(found)


def _tests_the_same(tested: Task, task: Task) -> bool:
    same_installation = tested.installation_id and tested.installation_id == task.installation_id
    same_unit = tested.unit_id and tested.unit_id == task.unit_id
    return bool(
        same_installation or same_unit or (tested.trade.licensed and tested.trade_id == task.trade_id)
    )


def _checks_after(task: Task) -> list[tuple[HoldPoint, bool]]:
    """Every check somewhere after a task, and whether it comes right after it."""
    after: dict[int, list[int]] = {}
    pairs = Link.objects.filter(before__build=task.build_id, after__removed_at=None)
    for first, then in pairs.values_list("before_id", "after_id"):
        after.setdefault(first, []).append(then)
    reached, ahead = set(), list(after.get(task.pk, ()))
    while ahead:
        number = ahead.pop()
        if number not in reached:
            reached.add(number)
            ahead += after.get(number, ())
    checks = HoldPoint.objects.filter(task__in=reached).select_related("task__trade", "task__build")
    return [(check, check.task_id in after.get(task.pk, ())) for check in checks]


def _open_again(check: HoldPoint, why: str, by: By, now: datetime) -> None:
    payload = {"hold_point": check.pk, "reason": why[:200], "hours_left": str(_recheck_hours(check.task))}
    own = By(person=by.person, user=by.user, tablet=by.tablet)
    answer = record("check again", why[:300], by=own, now=now, task=_as_now(check.task), payload=payload)
    _keep_record(check, "reopened", answer, judge([], {}), why[:400], "", "")


def _as_now(task: Task) -> Task:
    return Task.objects.select_related("build", "trade").get(pk=task.pk)


# The rules


def _sign_in(by: By, pin: str, now: datetime) -> None:
    """A fitter signs with a PIN; a signed-in owner has signed in already. A repeat needs no PIN."""
    if by.user is not None:
        return
    if by.uuid is not None and answered_before(by):
        return
    check_pin(by=by, pin=pin, now=now)


def _fresh(hold_point: HoldPoint, by: By) -> tuple[HoldPoint, Task]:
    check = HoldPoint.objects.filter(pk=hold_point.pk).first()
    if check is None:
        raise Gone("That check is not there any more.")
    return check, task_for(check.task, by)


def _competent_for(check: HoldPoint, task: Task, by: By, given: str) -> str:
    if check.licensed_trade and not task.trade.licensed:
        given = given.strip() or check.competent_person or (by.person.competence if by.person else "")
        if not given:
            raise Refused("Name the competent person who did this test.", field="competent_person")
        return given[:120]
    return name_competent(task, by, given or check.competent_person).get("competent_person", "")


def _refuse_unproved(check: HoldPoint, task: Task) -> None:
    if check.photo_wanted and not task.photos.exists() and not check.photos.exists():
        raise Refused("A photo is wanted before this is signed. Take one first.", field="photo")
    _refuse_handover(check, task)


def _refuse_handover(check: HoldPoint, task: Task) -> None:
    if check.kind == "handover":
        missing = certificates_missing(task.build)
        if missing:
            names = ", ".join(f"“{name}”" for name in missing)
            raise Refused(f"No handover yet: the certificate reference is missing for {names}.")


def _recheck_hours(task: Task) -> Decimal:
    return min(task.hours, RECHECK_HOURS)


def _keep_record(check: HoldPoint, state, answer: Answer, judged, note, named, certificate) -> None:
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


def _sentence(remarks: tuple[str, ...]) -> str:
    words = "; ".join(remarks)
    return f"{words[:1].upper()}{words[1:]}."
