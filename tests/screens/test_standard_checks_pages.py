"""The owner's pages of hold points: the list, a new one, changing one, putting one on a task."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from builds.actions.library import load_standard_library
from builds.models import HoldPoint, StandardHoldPoint

NEW = {
    "name": "Doors hang true",
    "may_overrule": "on",
    "reading1_label": "Gap at the door",
    "reading1_kind": "number",
    "reading1_unit": "mm",
    "reading1_most": "3.5",
    "reading1_basis": "the shop's own",
    "reading3_label": "A draught is felt",
    "reading3_kind": "no",
    "reading3_basis": "common practice, no source",
}


@pytest.fixture
def library(shop, now):
    load_standard_library(now=now)


def as_shown(form) -> dict:
    """What a browser sends back of an untouched form."""
    return {b.html_name: b.value() for b in form if b.value() not in (None, "") and b.value() is not False}


def text(response) -> str:
    return response.content.decode()


def test_a_hold_point_is_added_with_the_rows_that_have_a_label(owner_client, shop):
    owner_client.post(reverse("owner:standard-check-new"), NEW)

    row = StandardHoldPoint.objects.get()
    assert [(f["label"], f["kind"], f.get("most"), f.get("wanted")) for f in row.fields] == [
        ("Gap at the door", "number", 3.5, None),
        ("A draught is felt", "yes", None, False),
    ]
    assert "Doors hang true" in text(owner_client.get(reverse("owner:standard-check-list")))


def test_words_stand_at_the_row_at_fault_and_the_typing_is_kept(owner_client, shop):
    answer = owner_client.post(reverse("owner:standard-check-new"), NEW | {"reading3_basis": ""})

    assert answer.status_code == 422
    assert "where the limit is from" in str(answer.context["form"].errors["reading3_basis"])
    assert 'value="Gap at the door"' in text(answer)


def test_what_was_loaded_comes_back_as_it_was_when_it_is_kept_unchanged(owner_client, library):
    for row in StandardHoldPoint.objects.all():
        address = reverse("owner:standard-check", args=[row.pk])
        typed = as_shown(owner_client.get(address).context["form"])

        answer = owner_client.post(address, typed)

        assert answer.status_code == 302, (row.key, answer.context["form"].errors)
        kept = {f["key"]: f for f in StandardHoldPoint.objects.get(pk=row.pk).fields}
        assert kept == {f["key"]: f for f in row.fields}, row.key


def test_gas_is_not_made_overrulable_by_a_press(owner_client, library):
    row = StandardHoldPoint.objects.get(key="gas_tightness")
    address = reverse("owner:standard-check", args=[row.pk])
    typed = as_shown(owner_client.get(address).context["form"])

    answer = owner_client.post(address, typed | {"may_overrule": "on"})

    assert (answer.status_code, "made stricter" in text(answer)) == (422, True)
    assert not StandardHoldPoint.objects.get(pk=row.pk).may_overrule


def test_a_hold_point_is_put_on_a_task_of_a_build(owner_client, small_build, library):
    task = small_build.tasks.get(key="cut-parts")
    page = text(owner_client.get(reverse("owner:task", args=[small_build.pk, task.pk])))
    assert "End it with a hold point" in page

    owner_client.post(
        reverse("owner:check-put-on", args=[small_build.pk, task.pk]), {"check": "openings_hose"}
    )

    assert HoldPoint.objects.get().task == task
    page = text(owner_client.get(reverse("owner:task", args=[small_build.pk, task.pk])))
    assert "End it with a hold point" not in page


@pytest.mark.parametrize("key", ["", "no-such-check", "x" * 300])
def test_a_hold_point_nobody_knows_is_not_found(owner_client, small_build, key):
    task = small_build.tasks.get(key="cut-parts")

    answer = owner_client.post(reverse("owner:check-put-on", args=[small_build.pk, task.pk]), {"check": key})

    assert answer.status_code == 404


def test_the_list_asks_as_often_for_three_as_for_one(owner_client, shop):
    def count(key: str) -> int:
        StandardHoldPoint.objects.create(key=key, name=key)
        with CaptureQueriesContext(connection) as asked:
            owner_client.get(reverse("owner:standard-check-list"))
        return len(asked)

    one, _ = count("a"), count("b")

    assert count("c") == one
    assert one <= 12
