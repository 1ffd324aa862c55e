"""Checks that hold: signed with a PIN and readings, failed, done again, overruled, opened again."""

from __future__ import annotations

import uuid
from contextlib import suppress
from dataclasses import replace
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from builds.actions import floor, hold_points, pins
from builds.actions.door import Refused
from builds.actions.floor import By
from builds.actions.tested import reopen_checks, reopen_for_new_work
from builds.models import CheckRecord, FloorEvent, HoldPoint, Person, Snag, Tablet, Task
from builds.queries.certificates import certificates_missing
from builds.queries.check_page import check_photos
from tests import cast
from tests.actions.test_photos import picture

FIELDS = [
    {"key": "start", "label": "Start", "kind": "number", "unit": "bar", "least": 1.5, "basis": "of the rule"},
    {"key": "end", "label": "End", "kind": "number", "unit": "bar"},
    {
        "key": "drop",
        "label": "Lost",
        "kind": "difference",
        "of": ["start", "end"],
        "verb": "lost",
        "most": 0.1,
    },
]
GOOD = {"start": "1.6", "end": "1.55"}
PIN = "2468"


@pytest.fixture
def by(joiner, owner, now):
    pins.set_pin(person=joiner, pin=PIN, now=now - timedelta(days=1), by=owner)
    joiner.refresh_from_db()
    return By(person=joiner, tablet=Tablet.objects.create(name="Bench"))


@pytest.fixture
def check(small_build):
    task = small_build.tasks.get(key="cut-parts")
    return HoldPoint.objects.create(task=task, kind="water_pressure", name="Water pressure", fields=FIELDS)


def fresh(check: HoldPoint) -> HoldPoint:
    return HoldPoint.objects.select_related("task").get(pk=check.pk)


def sign(check, by, now, **more):
    given = {"readings": GOOD, "pin": PIN} | more
    return hold_points.pass_check(hold_point=check, by=by, now=now, **given)


def test_a_pass_ticks_its_task_and_lets_the_next_start(check, small_build, by, now):
    sign(check, by, now, hours="1")

    assert (fresh(check).state, fresh(check).task.state) == ("passed", "done")
    floor.start_task(task=small_build.tasks.get(key="glue-up"), by=by, now=now)


def test_a_wrong_pin_signs_nothing_and_is_kept(check, by, now):
    with pytest.raises(Refused, match="not the PIN"):
        sign(check, by, now, pin="1357")

    assert fresh(check).state == "due"
    assert FloorEvent.objects.get().verb == "wrong pin"


def test_readings_outside_a_limit_pass_only_with_a_note(check, by, now):
    leaking = {"start": "1.6", "end": "1.2"}

    with pytest.raises(Refused, match=r"Lost 0\.4, more than the 0\.1 of the rule"):
        sign(check, by, now, readings=leaking)
    sign(check, by, now, readings=leaking, note="Gauge was cold; held for an hour more")

    record = CheckRecord.objects.get()
    assert (record.outcome, record.readings["drop"]) == ("passed", "0.4")
    assert record.remarks == ["lost 0.4, more than the 0.1 of the rule"]


def test_unreadable_readings_come_back_by_field(check, by, now):
    with pytest.raises(hold_points.Unreadable) as refused:
        sign(check, by, now, readings={"start": "much"})

    assert set(refused.value.errors) == {"start", "end"}


def test_a_failed_check_opens_a_snag_and_holds_until_the_recheck(check, small_build, by, now):
    glue = small_build.tasks.get(key="glue-up")

    hold_points.fail_check(
        hold_point=check, readings={"start": "1.6"}, note="Drips at the tee", by=by, now=now, pin=PIN
    )
    assert fresh(check).task.state == "stopped"
    assert Snag.objects.get().text == "Water pressure failed: Drips at the tee"
    with pytest.raises(Refused, match="failed and waits for a recheck"):
        floor.start_task(task=glue, by=by, now=now)
    with pytest.raises(Refused, match="passes its recheck"):
        floor.put_right(snag=Snag.objects.get(), by=by, now=now)
    sign(check, by, now + timedelta(hours=1))

    assert Snag.objects.get().put_right_at is not None
    floor.start_task(task=glue, by=by, now=now + timedelta(hours=1))


def test_a_fail_needs_words(check, by, now):
    with pytest.raises(Refused, match="Say what was found"):
        hold_points.fail_check(hold_point=check, readings={}, note=" ", by=by, now=now, pin=PIN)


def test_a_photo_is_wanted_before_some_checks(check, by, now):
    HoldPoint.objects.filter(pk=check.pk).update(photo_wanted=True)

    with pytest.raises(Refused, match="photo is wanted"):
        sign(fresh(check), by, now)


def test_a_recheck_wants_a_photo_of_its_own(check, small_build, by, now, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    HoldPoint.objects.filter(pk=check.pk).update(photo_wanted=True)
    later = now + timedelta(hours=1)
    kept = {"build": small_build, "hold_point": check, "by": by}
    floor.add_photo(file=picture(64, 48), now=now, **kept)
    sign(fresh(check), by, now + timedelta(minutes=5))
    hold_points.reopen_check(
        hold_point=fresh(check), why="A joint was moved", user=cast.make_owner("rue"), now=later
    )

    with pytest.raises(Refused, match="photo is wanted"):
        sign(fresh(check), by, later)
    assert not check_photos(fresh(check)).are_enough
    floor.add_photo(file=picture(64, 48), now=later, **kept)
    sign(fresh(check), by, later)

    assert (fresh(check).state, check_photos(fresh(check)).are_enough) == ("passed", True)


def test_the_owner_overrules_in_writing(check, owner, now):
    with pytest.raises(Refused, match="Write the reason"):
        hold_points.overrule_check(hold_point=check, reason="", user=owner, now=now)
    hold_points.overrule_check(hold_point=check, reason="Tested by the supplier", user=owner, now=now)

    assert (fresh(check).state, CheckRecord.objects.get().note) == ("overruled", "Tested by the supplier")


@pytest.mark.parametrize("held", [{"may_overrule": False}, {"licensed_trade": "gas", "may_overrule": False}])
def test_gas_mains_and_seats_are_never_overruled(check, owner, now, held):
    HoldPoint.objects.filter(pk=check.pk).update(**held)

    with pytest.raises(Refused, match="can't be overruled"):
        hold_points.overrule_check(hold_point=fresh(check), reason="In a hurry", user=owner, now=now)


@pytest.mark.parametrize(
    "held", [{"may_overrule": False}, {"licensed_trade": "mains", "may_overrule": False}]
)
def test_the_records_themselves_take_no_overruled_gas_mains_or_seats(check, held):
    HoldPoint.objects.filter(pk=check.pk).update(**held)

    with pytest.raises(IntegrityError), transaction.atomic():
        HoldPoint.objects.filter(pk=check.pk).update(state="overruled")
    if "licensed_trade" in held:
        with pytest.raises(IntegrityError), transaction.atomic():
            HoldPoint.objects.filter(pk=check.pk).update(may_overrule=True)


def test_taking_work_back_opens_the_check_behind_it_again(small_build, by, now):
    first, glue = (small_build.tasks.get(key=k) for k in ("cut-parts", "glue-up"))
    check = HoldPoint.objects.create(task=glue, kind="water_pressure", name="Water pressure", fields=FIELDS)
    floor.tick_task(task=first, hours="1", by=by, now=now)
    sign(check, by, now)

    floor.reopen(task=first, why="A joint leaks", hours_left="1", user=cast.make_owner("rue"), now=now)

    assert fresh(check).state == "reopened"
    assert Task.objects.get(pk=glue.pk).state == "to do"


def test_a_signed_check_is_not_taken_back(check, by, now):
    answer = sign(check, by, now)

    with pytest.raises(Refused, match="stays on record"):
        floor.undo(event=answer.event, by=by, now=now)


def test_the_handover_waits_for_every_certificate(small_build, by, now):
    gas = HoldPoint.objects.create(
        task=small_build.tasks.get(key="cut-parts"), kind="gas_final", name="Final gas", certificate_due=True
    )
    last = cast.make_task(small_build, "handover", trade_id="owner")
    handover = HoldPoint.objects.create(task=last, kind="handover", name="Handover")

    with pytest.raises(Refused, match="missing for “Final gas”"):
        sign(handover, by, now, readings={})
    HoldPoint.objects.filter(pk=gas.pk).update(certificate="G-0001")
    sign(handover, by, now, readings={})

    assert fresh(handover).state == "passed"


@pytest.mark.parametrize("reference", ["-", " – ", "\u200b", "\x00", "…"])
def test_a_reference_without_a_letter_or_a_number_is_none(small_build, by, owner, now, reference):
    gas = HoldPoint.objects.create(
        task=small_build.tasks.get(key="cut-parts"), kind="gas_final", name="Final gas", certificate_due=True
    )
    with suppress(Refused):
        sign(gas, by, now, readings={}, certificate=reference)
    if fresh(gas).state == "due":
        sign(gas, by, now, readings={})
    with pytest.raises(Refused, match="Write the reference"):
        hold_points.file_certificate(hold_point=gas, reference=reference, now=now, by=owner)

    assert certificates_missing(small_build) == ("Final gas",)


def test_a_certificate_of_a_test_that_is_done_again_counts_no_more(small_build, by, owner, now):
    gas = HoldPoint.objects.create(
        task=small_build.tasks.get(key="cut-parts"), kind="gas_final", name="Final gas", certificate_due=True
    )
    sign(gas, by, now, readings={}, certificate="G-0001")
    hold_points.reopen_check(hold_point=gas, why="A pipe was moved", user=owner, now=now)

    sign(fresh(gas), by, now, readings={})

    assert (fresh(gas).state, certificates_missing(small_build)) == ("passed", ("Final gas",))


def guess(by, now, times: int) -> None:
    for _ in range(times):
        with pytest.raises(Refused):
            pins.check_pin(by=by, pin="9753", now=now)


def test_five_wrong_pins_make_this_tablet_wait_and_no_other(by, now):
    guess(by, now, 5)

    with pytest.raises(Refused, match="Too many wrong PINs"):
        pins.check_pin(by=by, pin=PIN, now=now)
    elsewhere = By(person=by.person, tablet=Tablet.objects.create(name="Spray"))
    pins.check_pin(by=elsewhere, pin=PIN, now=now)
    pins.check_pin(by=by, pin=PIN, now=now + timedelta(seconds=61))


def test_a_colleague_is_not_kept_out_for_more_than_five_minutes(by, now):
    clock = now
    for _ in range(12):
        guess(by, clock, 5)
        clock += timedelta(seconds=pins.wait_seconds(by.person, by.tablet, clock) + 1)

    guess(by, clock, 6)

    assert 0 < pins.wait_seconds(by.person, by.tablet, clock) <= 300


def test_a_new_pin_opens_the_tablet_at_once(by, owner, now):
    guess(by, now, 5)

    pins.set_pin(person=by.person, pin="8642", now=now, by=owner)

    pins.check_pin(by=by, pin="8642", now=now)


def test_the_pin_of_somebody_who_left_signs_nothing(check, by, now):
    Person.objects.filter(pk=by.person.pk).update(left_on=now.date())

    with pytest.raises(Refused, match="works here"):
        sign(check, by, now)


@pytest.mark.parametrize("pin", ["", "123", "123456789", "12a4", "1111", "1234", "９８７６"])
def test_a_weak_or_unreadable_pin_is_not_set(by, owner, now, pin):
    with pytest.raises(Refused):
        pins.set_pin(person=by.person, pin=pin, now=now, by=owner)


def late(by: By, happened, now) -> By:
    """Signed at `happened` without network, by a clock that is right."""
    return replace(by, uuid=uuid.uuid4(), device_at=happened, sequence=None)


def test_what_was_signed_without_network_counts_from_when_it_was_signed(check, by, now):
    sign(check, late(by, now - timedelta(hours=2), now), now)

    assert fresh(check).state == "passed"
    assert CheckRecord.objects.get().at == now - timedelta(hours=2)


def fails(check, by, now):
    hold_points.fail_check(hold_point=check, readings=GOOD, note="Drips", by=by, now=now, pin=PIN)


def opens_again(check, by, now):
    sign(check, by, now - timedelta(minutes=90))
    hold_points.reopen_check(hold_point=check, why="Knocked", user=cast.make_owner("rue"), now=now)


@pytest.mark.parametrize(
    ("since", "words"), [(fails, "failed after this was signed"), (opens_again, "was opened again after")]
)
def test_a_pass_that_comes_late_does_not_undo_what_was_found_since(since, words, check, by, now):
    since(fresh(check), by, now - timedelta(minutes=30))
    state = fresh(check).state

    with pytest.raises(Refused, match=words):
        sign(fresh(check), late(by, now - timedelta(hours=1), now), now)

    assert fresh(check).state == state


@pytest.mark.parametrize(
    "change", ["finished since", "changed since", "added since", "taken back and done again"]
)
def test_a_pass_that_comes_late_does_not_count_for_what_was_changed_since(
    change, small_build, by, now, owner
):
    before = small_build.tasks.get(key="cut-parts")
    unit = cast.make_unit(small_build)
    tested = cast.make_task(small_build, "press-test", after=(before,), unit=unit)
    Task.objects.filter(pk=before.pk).update(unit=unit)
    check = HoldPoint.objects.create(task=tested, kind="own", name="Press test", fields=FIELDS)
    half_past = now - timedelta(minutes=30)
    hand = By(person=by.person)
    if change != "finished since":
        floor.tick_task(task=before, hours="1", by=hand, now=now - timedelta(hours=3))
    if change == "finished since":
        floor.tick_task(task=before, hours="1", by=hand, now=half_past)
    elif change == "changed since":
        reopen_checks(task=before, why="other material", by=By(user=owner), now=half_past)
    elif change == "added since":
        added = cast.make_task(small_build, "one-more-joint", unit=unit)
        reopen_for_new_work(task=added, by=By(user=owner), now=half_past)
    else:
        tick = FloorEvent.objects.get(verb="tick")
        floor.undo(event=tick, by=hand, now=half_past)
        floor.tick_task(task=Task.objects.get(pk=before.pk), hours="1", by=hand, now=half_past)

    with pytest.raises(Refused, match="was changed after this was signed"):
        sign(fresh(check), late(by, now - timedelta(hours=1), now), now)
    sign(fresh(check), late(by, now - timedelta(minutes=10), now), now)

    assert fresh(check).state == "passed"
