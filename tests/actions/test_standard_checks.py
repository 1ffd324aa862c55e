"""Hold points of the shop: defined by the owner, made stricter, never looser; put on a task of a build."""

from __future__ import annotations

from decimal import Decimal

import pytest

from builds.actions import floor
from builds.actions.door import Refused, Stale
from builds.actions.floor import By
from builds.actions.library import load_standard_library
from builds.actions.standard_checks import add_check, change_check, put_check_on
from builds.engines.floor.judging import judge
from builds.models import HoldPoint, StandardHoldPoint

GAP = {
    "label": "Gap at the door",
    "kind": "number",
    "unit": "mm",
    "least": Decimal(2),
    "most": Decimal("3.5"),
    "basis": "the shop's own",
}


def add(now, owner, **more) -> StandardHoldPoint:
    return add_check(fields={"name": "Doors hang true", "readings": [GAP]} | more, now=now, by=owner)


def test_an_owner_defines_a_hold_point_that_judges_its_readings(shop, owner, now):
    row = add(now, owner)

    assert row.fields == [
        {"key": "gap_at_the_door", "label": "Gap at the door", "kind": "number", "unit": "mm", "least": 2,
         "most": 3.5, "basis": "the shop's own"}
    ]  # fmt: skip
    assert judge(row.fields, {"gap_at_the_door": "4"}).remarks == (
        "Gap at the door: 4 mm, more than the 3.5 of the rule (the shop's own)",
    )


def test_a_hold_point_put_on_a_task_holds_what_comes_after(small_build, joiner, owner, now):
    task, glue = small_build.tasks.get(key="cut-parts"), small_build.tasks.get(key="glue-up")

    put_check_on(task=task, check=add(now, owner), now=now, by=owner)

    assert HoldPoint.objects.get().fields[0]["key"] == "gap_at_the_door"
    with pytest.raises(Refused, match="Sign “Doors hang true”"):
        floor.tick_task(task=task, hours="1", by=By(person=joiner), now=now)
    with pytest.raises(Refused, match="is not passed"):
        floor.start_task(task=glue, by=By(person=joiner), now=now)


def test_a_task_takes_one_hold_point_and_none_once_it_is_done(small_build, joiner, owner, now):
    row = add(now, owner)
    cut, glue = small_build.tasks.get(key="cut-parts"), small_build.tasks.get(key="glue-up")
    floor.tick_task(task=cut, hours="1", by=By(person=joiner), now=now)
    put_check_on(task=glue, check=row, now=now, by=owner)

    for task, words in ((cut, "is done"), (glue, "already")):
        with pytest.raises(Refused, match=words):
            put_check_on(task=task, check=row, now=now, by=owner)


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ({"label": " "}, "needs a label"),
        ({"kind": "magic"}, "one of the list"),
        ({"least": Decimal(9)}, "least is more"),
        ({"basis": " "}, "where the limit is from"),
    ],
)
def test_a_reading_that_cannot_be_is_refused(shop, owner, now, row, words):
    with pytest.raises(Refused, match=words):
        add(now, owner, readings=[GAP | row])


@pytest.mark.parametrize("name", ["", "  ", "DOORS hang true"])
def test_a_name_that_cannot_be_is_refused(shop, owner, now, name):
    add(now, owner)

    with pytest.raises(Refused):
        add(now, owner, name=name)


@pytest.mark.parametrize("key", ["gas_tightness", "gas_final", "mains_test", "seat_fixings"])
@pytest.mark.parametrize("loose", [{"may_overrule": True}, {"licensed_trade": "plumbing"}])
def test_gas_mains_and_seats_are_made_no_looser(db, owner, now, key, loose):
    load_standard_library(now=now)
    row = StandardHoldPoint.objects.get(key=key)

    with pytest.raises(Refused, match="made stricter"):
        change_check(check=row, fields=loose, now=now, by=owner)


@pytest.mark.parametrize("key", ["gas_tightness", "seat_fixings"])
def test_the_photo_of_gas_and_seats_stays_wanted(db, owner, now, key):
    load_standard_library(now=now)
    row = StandardHoldPoint.objects.get(key=key)

    with pytest.raises(Refused, match="its photo"):
        change_check(check=row, fields={"photo_wanted": False}, now=now, by=owner)


def test_a_certificate_that_gates_the_handover_stays_due(db, owner, now):
    load_standard_library(now=now)

    with pytest.raises(Refused, match="its certificate"):
        change_check(
            check=StandardHoldPoint.objects.get(key="mains_test"),
            fields={"certificate_due": False},
            now=now,
            by=owner,
        )


def test_what_is_worked_out_keeps_the_readings_it_is_worked_out_from(db, owner, now):
    load_standard_library(now=now)
    row = StandardHoldPoint.objects.get(key="gas_tightness")
    first, *others = [f for f in row.fields if f["kind"] == "number"]

    with pytest.raises(Refused, match="“Pressure dropped” is worked out from “Reading after settling”"):
        change_check(check=row, fields={"readings": others}, now=now, by=owner)
    stricter = [first | {"least": Decimal(160)}, *others]
    change_check(check=row, fields={"readings": stricter}, now=now, by=owner)

    changed = StandardHoldPoint.objects.get(key="gas_tightness").fields
    assert (changed[0]["least"], changed[-1]["kind"]) == (160, "difference")


def test_a_change_from_an_old_page_is_refused(shop, owner, now):
    row = add(now, owner)

    with pytest.raises(Stale):
        change_check(check=row, fields={"name": "Doors"}, seen="an older one", now=now, by=owner)
