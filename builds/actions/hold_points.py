"""Checks that hold: signed with readings, failed and done again, overruled in writing, opened again.

Nothing after a check starts before it is passed or overruled; `floor.refuse_early` sees to that for
every route. A person passes or fails a check; the readings are only held against their limits.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from builds.actions.door import Gone, Refused, note_in_journal, write
from builds.actions.floor_events import Answer, By, answered_before, hours_from, record, when, words_from
from builds.actions.floor_rules import name_competent, refuse_early, task_for
from builds.actions.pins import check_pin
from builds.actions.tested import keep_record, open_again, recheck_hours, refuse_overtaken
from builds.engines.floor.judging import judge
from builds.models import HoldPoint, Snag, Task, User
from builds.queries.certificates import certificates_missing, has_photo

REFERENCE_NEEDED = "Write the reference on the certificate."


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
    a handover while a certificate is missing. What was signed without network is refused if the check
    failed, was opened again or tests something else since.
    """
    _sign_in(by, pin, now)
    with write() as shop:
        if known := answered_before(by):
            return known
        check, task = _fresh(hold_point, by)
        if check.state == "passed" and not by.is_late:
            raise Refused(f"“{check.name}” is passed already.")
        if by.is_late:
            refuse_overtaken(check, when(by, now))
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
        certificate = _reference(certificate.replace("\x00", "").strip()[:120])
        payload = {"hold_point": check.pk, **({"competent_person": named} if named else {})}
        if hours not in (None, ""):
            payload["hours"] = str(hours_from(hours, field="hours"))
        answer = record("pass", f"“{check.name}” passed", by=by, now=now, task=task, payload=payload)
        keep_record(check, "passed", answer, judged, note, named, certificate)
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
        payload = {"hold_point": check.pk, "hours_left": str(recheck_hours(task))}
        payload |= {"competent_person": named} if named else {}
        words = f"“{check.name}” failed; it waits for a recheck"
        answer = record("fail", words, by=by, now=now, task=task, payload=payload)
        keep_record(check, "failed", answer, judged, note, named, "")
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
    """Lets the followers start without a pass, on the owner's written reason. Never gas, mains or seats.

    What comes before the check has to be done and passed all the same: nothing is overruled with it.
    """
    by = By(user=user, uuid=uuid)
    with write() as shop:
        if known := answered_before(by):
            return known
        check, task = _fresh(hold_point, by)
        if not check.may_overrule or check.licensed_trade:
            raise Refused(f"“{check.name}” can't be overruled. It has to pass.")
        if check.lets_followers_start:
            raise Refused(f"“{check.name}” holds nothing up any more.")
        refuse_early(task, now, shop)
        _refuse_handover(check, task)
        reason = words_from(reason, field="reason", most=400, needed="Write the reason; it stays on record.")
        payload = {"hold_point": check.pk, "reason": reason}
        answer = record("overrule", f"“{check.name}” overruled", by=by, now=now, task=task, payload=payload)
        keep_record(check, "overruled", answer, judge([], {}), reason, "", "")
        note_in_journal(f"Overruled “{check.name}”: {reason}", now=now, by=user, build=task.build)
        return answer


def file_certificate(*, hold_point: HoldPoint, reference: str, now: datetime, by: User) -> HoldPoint:
    """Notes the certificate's reference after the test was passed; the handover waits for it."""
    with write(plan=False):
        check, _ = _fresh(hold_point, By(user=by))
        if not check.certificate_due:
            raise Refused(f"“{check.name}” needs no certificate.", field="certificate")
        if check.state != "passed":
            raise Refused(
                f"“{check.name}” is not passed, so there is no certificate of it yet.", field="certificate"
            )
        check.certificate = _reference(
            words_from(reference, field="certificate", most=120, needed=REFERENCE_NEEDED)
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
        open_again(check, why, By(user=user), now)
        note_in_journal(
            f"“{check.name}” to be checked again: {why}", now=now, by=user, build=check.task.build
        )


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
    if check.photo_wanted and not has_photo(check):
        raise Refused("A photo is wanted before this is signed. Take one first.", field="photo")
    _refuse_handover(check, task)


def _reference(given: str) -> str:
    """A dash or a blank of another kind is no reference: the handover would pass without a certificate."""
    if given and not any(letter.isalnum() for letter in given):
        raise Refused(REFERENCE_NEEDED, field="certificate")
    return given


def _refuse_handover(check: HoldPoint, task: Task) -> None:
    if check.kind == "handover":
        missing = certificates_missing(task.build)
        if missing:
            names = ", ".join(f"“{name}”" for name in missing)
            raise Refused(f"No handover yet: the certificate reference is missing for {names}.")


def _sentence(remarks: tuple[str, ...]) -> str:
    words = "; ".join(remarks)
    return f"{words[:1].upper()}{words[1:]}."
