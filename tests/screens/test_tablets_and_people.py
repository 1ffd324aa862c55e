"""Tablets and people over a long week: nothing waiting is lost, nobody is kept out, nobody sees too much."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
import time_machine
from django.urls import get_resolver, reverse

from builds.actions import pins, tablets
from builds.actions.cutting import lay_out
from builds.models import (
    Delivery,
    FloorEvent,
    HoldPoint,
    Installation,
    Link,
    PlanRow,
    Supplier,
    Tablet,
    Task,
)
from builds.queries.tablets import COOKIE
from tests import cast

WEEK = timedelta(days=7)
PIN = "2468"


@pytest.fixture
def cut(small_build) -> Task:
    return small_build.tasks.get(key="cut-parts")


@pytest.fixture
def paired(client, owner, small_build, now) -> Tablet:
    """A tablet paired as people do it: the owner makes a code, the tablet claims it."""
    with time_machine.travel(now, tick=False):
        tablet, code = tablets.add_tablet(name="Bench", now=now, by=owner)
        client.post(reverse("floor:pair"), {"code": code})
    return tablet


def tick(client, joiner, task, *, done_at, sent_at, number=1, once=None):
    """Sends a tick that waited on the tablet."""
    with time_machine.travel(sent_at, tick=False):
        return client.post(
            reverse("floor:task-tick", args=[joiner.pk, task.pk]),
            {"once": once or uuid.uuid4(), "hours": "4"},
            HTTP_X_QUEUE_NUMBER=str(number),
            HTTP_X_DONE_AT=done_at.isoformat(),
            HTTP_X_SENT_AT=sent_at.isoformat(),
        )


def test_a_tablet_without_wifi_for_a_week_is_still_paired_and_sends(client, paired, joiner, cut, now):
    answer = tick(client, joiner, cut, done_at=now + timedelta(hours=1), sent_at=now + WEEK)

    assert answer.json()["outcome"] == "kept"
    assert FloorEvent.objects.get().happened_at == now + timedelta(hours=1)


def test_the_pairing_lasts_far_beyond_a_working_week(client, paired, now):
    with time_machine.travel(now, tick=False):
        client.get(reverse("floor:names"))

    assert client.cookies[COOKIE]["max-age"] > 50 * WEEK.total_seconds()


def test_the_owner_is_still_signed_in_after_a_week_away(client, shop, owner, now):
    with time_machine.travel(now, tick=False):
        client.force_login(owner)
    with time_machine.travel(now + WEEK, tick=False):
        assert client.get(reverse("owner:shop")).status_code == 200


def test_a_withdrawn_tablet_sends_nothing_and_is_told_to_keep_what_waits(
    client, paired, joiner, cut, owner, now
):
    tablets.withdraw_tablet(tablet=paired, now=now, by=owner)

    assert client.get(reverse("floor:state")).status_code == 302
    answer = tick(client, joiner, cut, done_at=now, sent_at=now + timedelta(hours=1))

    assert answer.status_code == 401
    assert not FloorEvent.objects.exists()


@pytest.mark.parametrize("name", ["Bench", "Bench, the new one"])
def test_what_waited_on_a_withdrawn_tablet_is_sent_once_it_is_paired_again(
    client, paired, joiner, cut, owner, now, name
):
    once, later = uuid.uuid4(), now + timedelta(hours=2)
    tablets.withdraw_tablet(tablet=paired, now=now, by=owner)
    assert tick(client, joiner, cut, done_at=now, sent_at=later, once=once).status_code == 401

    with time_machine.travel(later, tick=False):
        _, code = tablets.add_tablet(name=name, now=later, by=owner)
        client.post(reverse("floor:pair"), {"code": code})
    answer = tick(client, joiner, cut, done_at=now, sent_at=later, once=once)

    assert answer.json()["outcome"] == "kept"
    event = FloorEvent.objects.get()
    assert (event.person, event.happened_at, event.tablet.name) == (joiner, now, name)


def test_a_pin_that_was_changed_meanwhile_holds_nothing_up(client, paired, joiner, cut, owner, now):
    pins.set_pin(person=joiner, pin=PIN, now=now, by=owner)
    pins.set_pin(person=joiner, pin="8642", now=now + timedelta(hours=1), by=owner)

    answer = tick(client, joiner, cut, done_at=now, sent_at=now + timedelta(hours=2))

    assert answer.json()["outcome"] == "kept"
    assert FloorEvent.objects.get().person == joiner


def test_a_check_signed_with_the_old_pin_is_refused_and_with_the_new_one_kept(
    client, paired, joiner, cut, owner, now
):
    check = HoldPoint.objects.create(task=cut, kind="own", name="Square")
    pins.set_pin(person=joiner, pin=PIN, now=now, by=owner)
    pins.set_pin(person=joiner, pin="8642", now=now, by=owner)
    address = reverse("floor:hold-point", args=[joiner.pk, check.pk])

    with time_machine.travel(now + timedelta(hours=1), tick=False):
        assert client.post(address, {"verdict": "pass", "pin": PIN}).status_code == 422
        assert client.post(address, {"verdict": "pass", "pin": "8642"}).status_code == 302

    assert HoldPoint.objects.get().state == "passed"


def test_somebody_who_left_has_no_sheet_and_signs_nothing(client, paired, joiner, cut, owner, now):
    check = HoldPoint.objects.create(task=cut, kind="own", name="Square")
    pins.set_pin(person=joiner, pin=PIN, now=now, by=owner)
    type(joiner).objects.update(left_on=now.date())

    assert client.get(reverse("floor:job-sheet", args=[joiner.pk])).status_code == 404
    answer = client.post(
        reverse("floor:hold-point", args=[joiner.pk, check.pk]), {"verdict": "pass", "pin": PIN}
    )

    assert answer.status_code == 404
    assert HoldPoint.objects.get().state == "due"


def test_what_was_done_in_the_name_of_somebody_who_had_left_is_for_the_owner_to_settle(
    client, paired, joiner, cut, now
):
    type(joiner).objects.update(left_on=now.date() - WEEK)

    answer = tick(client, joiner, cut, done_at=now, sent_at=now + timedelta(hours=1))

    assert answer.json()["outcome"] == "to settle"
    assert "Wren Alder had left by then" in answer.json()["words"]


def test_the_old_word_of_a_tablet_that_was_paired_anew_opens_nothing(client, paired, joiner, cut, owner, now):
    stolen = client.cookies[COOKIE].value
    tablets.withdraw_tablet(tablet=paired, now=now, by=owner)
    with time_machine.travel(now, tick=False):
        _, code = tablets.add_tablet(name="Bench", now=now, by=owner)
        client.post(reverse("floor:pair"), {"code": code})
    assert client.cookies[COOKIE].value != stolen

    client.cookies[COOKIE] = stolen

    assert tick(client, joiner, cut, done_at=now, sent_at=now).status_code == 401
    assert client.get(reverse("floor:names")).status_code == 302


def test_a_leaver_signs_nothing_by_way_of_the_queue_either(client, paired, joiner, cut, owner, now):
    check = HoldPoint.objects.create(task=cut, kind="own", name="Square")
    pins.set_pin(person=joiner, pin=PIN, now=now, by=owner)
    type(joiner).objects.update(left_on=now.date())
    address = reverse("floor:hold-point", args=[joiner.pk, check.pk])

    with time_machine.travel(now, tick=False):
        answer = client.post(
            address,
            {"verdict": "pass", "pin": PIN, "once": uuid.uuid4()},
            HTTP_X_QUEUE_NUMBER="1",
            HTTP_X_DONE_AT=(now - timedelta(days=2)).isoformat(),
            HTTP_X_SENT_AT=now.isoformat(),
        )

    said = answer.json()
    assert (said["outcome"], HoldPoint.objects.get().state) == ("refused", "due")
    assert said["words"] == "Only somebody who works here can sign."


def test_a_clock_set_forward_makes_no_paint_dry(client, paired, joiner, small_build, now):
    glue, fit = (small_build.tasks.get(key=key) for key in ("glue-up", "fit-unit"))
    Task.objects.exclude(pk=fit.pk).update(state="done", started_at=now, finished_at=now)

    answer = tick(client, joiner, fit, done_at=now + 2 * WEEK, sent_at=now)

    assert answer.json()["outcome"] == "refused"
    assert glue.name in answer.json()["words"]


def test_guessing_at_one_tablet_keeps_nobody_out_for_a_day(client, paired, joiner, cut, owner, now):
    check = HoldPoint.objects.create(task=cut, kind="own", name="Square")
    pins.set_pin(person=joiner, pin=PIN, now=now - WEEK, by=owner)
    address = reverse("floor:hold-point", args=[joiner.pk, check.pk])

    for minute in range(60):
        with time_machine.travel(now + timedelta(minutes=minute), tick=False):
            client.post(address, {"verdict": "pass", "pin": "9753"})
    with time_machine.travel(now + timedelta(minutes=65), tick=False):
        answer = client.post(address, {"verdict": "pass", "pin": PIN})

    assert answer.status_code == 302
    assert HoldPoint.objects.get().state == "passed"


def pages_of_the_floor():
    (floor,) = [p for p in get_resolver().url_patterns if getattr(p, "namespace", None) == "floor"]
    for pattern in floor.url_patterns:
        yield pytest.param(pattern.name, tuple(pattern.pattern.converters), id=pattern.name)


@pytest.mark.parametrize(("name", "names"), list(pages_of_the_floor()))
def test_no_page_of_a_tablet_tells_money_or_how_to_reach_a_customer(
    client, paired, joiner, small_build, cut, now, name, names
):
    customer = small_build.customer
    customer.name, customer.phone = "Ada Quince", "01632 960123"
    customer.email, customer.address = "ada.quince@example.org", "7 Quince Row"
    customer.save()
    type(small_build).objects.filter(pk=small_build.pk).update(price_agreed=43210)
    gas = Installation.objects.create(build=small_build, kind="gas", name="Gas")
    seller = Supplier.objects.create(name="Board seller", phone="01632 960456", email="sales@example.org")
    board = cast.make_board(price="71.37", supplier=seller)
    unit = cast.make_unit(small_build)
    cast.make_part(unit, board, "Side", 2000, 585)
    type(cut).objects.filter(pk=cut.pk).update(unit=unit, standard="cut")
    cut_sheet = lay_out(builds=[small_build], now=now, by=None)[0].sheets.get()
    kit = Delivery.objects.create(build=small_build, supplier=seller, what="Kit", expected_on=now.date())
    kit.tasks.add(cut)
    PlanRow.objects.create(task=cut, start=now, finish=now + timedelta(hours=1), fitters=[joiner.pk])
    check = HoldPoint.objects.create(task=cut, kind="own", name="Square")
    known = {
        "person": joiner.pk,
        "build": small_build.pk,
        "task": cut.pk,
        "check": check.pk,
        "installation": gas.pk,
        "unit": unit.pk,
        "cut_sheet": cut_sheet.pk,
        "link": Link.objects.first().pk,
    }
    if not set(names) <= set(known):
        pytest.skip("files, and routes that only take a press")
    pages = {"pair", "names", "state", "job-sheet", "unit", "cut-sheet", "van", "hold-point"}

    with time_machine.travel(now, tick=False):
        answer = client.get(reverse(f"floor:{name}", kwargs={n: known[n] for n in names}))

    assert (answer.status_code == 200) == (name in pages)
    shown = answer.content.decode() if answer.status_code == 200 else ""
    for secret in ("Quince", "01632", "example.org", "43210", "43,210", "71.37", "£", "€"):
        assert secret not in shown
