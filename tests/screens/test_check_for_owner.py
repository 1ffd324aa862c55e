"""The owner's page of one check: what was signed, overruling in writing, checking again, the certificate."""

from __future__ import annotations

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from builds.actions.library import load_standard_library
from builds.actions.standard_checks import put_check_on
from builds.models import CheckRecord, HoldPoint, StandardHoldPoint
from tests import cast
from tests.actions.test_floor_checks import FIELDS


@pytest.fixture(autouse=True)
def at_eight(now):
    with time_machine.travel(now, tick=False):
        yield


@pytest.fixture
def check(small_build):
    task = small_build.tasks.get(key="cut-parts")
    return HoldPoint.objects.create(task=task, kind="water_pressure", name="Water pressure", fields=FIELDS)


def address(check, name="task-check") -> str:
    return reverse(f"owner:{name}", args=[check.task.build_id, check.task_id])


def text(response) -> str:
    return response.content.decode()


def test_the_page_shows_what_is_asked_with_its_limit_and_basis(owner_client, check):
    page = text(owner_client.get(address(check)))

    assert "1.5 bar or more: of the rule" in page
    assert "to be checked" in page


def test_the_owner_overrules_in_writing_and_the_reason_stays(owner_client, check):
    refused = owner_client.post(address(check, "check-overrule"), {"reason": " "})
    assert (refused.status_code, "Write the reason" in text(refused)) == (422, True)

    owner_client.post(address(check, "check-overrule"), {"reason": "Tested at the maker"})

    assert "Tested at the maker" in text(owner_client.get(address(check)))
    assert HoldPoint.objects.get().state == "overruled"


def test_gas_has_no_form_to_overrule_and_takes_no_press(owner_client, check):
    HoldPoint.objects.update(licensed_trade="gas", may_overrule=False)
    assert address(check, "check-overrule") not in text(owner_client.get(address(check)))

    answer = owner_client.post(address(check, "check-overrule"), {"reason": "In a hurry"})

    assert (answer.status_code, HoldPoint.objects.get().state) == (422, "due")


@pytest.mark.parametrize("key", ["gas_tightness", "gas_final", "mains_test", "seat_fixings"])
@pytest.mark.parametrize("state", ["due", "failed", "reopened"])
def test_the_trades_own_gas_mains_and_seats_are_never_overruled(
    owner_client, owner, small_build, now, key, state
):
    load_standard_library(now=now)
    task = small_build.tasks.get(key="cut-parts")
    check = put_check_on(task=task, check=StandardHoldPoint.objects.get(key=key), now=now, by=owner)
    HoldPoint.objects.filter(pk=check.pk).update(state=state)

    answer = owner_client.post(
        address(check, "check-overrule"), {"reason": "In a hurry", "may_overrule": "on"}
    )

    assert (answer.status_code, HoldPoint.objects.get(pk=check.pk).state) == (422, state)
    assert "has to pass" in text(answer)
    assert not CheckRecord.objects.exists()


def test_a_signed_check_is_opened_again_with_a_reason(owner_client, check, now):
    HoldPoint.objects.update(state="passed")
    type(check.task).objects.filter(pk=check.task_id).update(state="done", started_at=now, finished_at=now)

    assert owner_client.post(address(check, "check-again"), {"why": ""}).status_code == 422
    owner_client.post(address(check, "check-again"), {"why": "A pipe was moved"})

    assert HoldPoint.objects.get().state == "reopened"
    assert CheckRecord.objects.get().note == "A pipe was moved"


def test_the_certificate_is_kept_after_the_pass(owner_client, check):
    HoldPoint.objects.update(state="passed", certificate_due=True)

    assert owner_client.post(address(check, "check-certificate"), {"reference": ""}).status_code == 422
    owner_client.post(address(check, "check-certificate"), {"reference": "G-0001"})

    assert HoldPoint.objects.get().certificate == "G-0001"
    assert "G-0001" in text(owner_client.get(address(check)))


def test_a_check_of_another_build_is_not_found(owner_client, check):
    other = cast.make_build("Kestrel")

    assert owner_client.get(reverse("owner:task-check", args=[other.pk, check.task_id])).status_code == 404


def test_the_page_asks_as_often_for_three_signatures_as_for_one(owner_client, check, now):
    def count() -> int:
        CheckRecord.objects.create(hold_point=check, outcome="failed", note="x", at=now)
        with CaptureQueriesContext(connection) as asked:
            owner_client.get(address(check))
        return len(asked)

    one, _ = count(), count()

    assert count() == one
    assert one <= 12
