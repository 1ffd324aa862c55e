"""How sure a date is, on the build's page, in This week and on the list of builds."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from builds.actions.chances import work_out_chances
from builds.actions.door import write
from builds.actions.planning import replan
from builds.models import Shop
from tests import cast
from tests.screens.fragments import part


@pytest.fixture
def sure(shop, joiner):
    """A van here since last week with a promise far off, planned and played through."""
    now = timezone.now()
    today = now.date()
    build = cast.make_build(
        arrives_on=today - timedelta(days=7), promised_on=today + timedelta(days=60), name="Heron"
    )
    cast.make_task(build, "fit-unit", hours=4)
    Shop.objects.update(revision=1)
    replan(now=now)
    work_out_chances(now=now, runs=10)
    return build


def page(client, name, *args):
    return client.get(reverse(f"owner:{name}", args=args)).content.decode()


def test_the_build_page_says_how_often_the_promise_is_kept_and_draws_it(owner_client, sure):
    shown = page(owner_client, "build-page", sure.pk)

    assert "is kept in 100 of 100 runs" in shown
    assert "chances-promise" in shown
    assert "data-poll-tag='\"" not in part(shown, "chances")


def test_this_week_and_the_list_carry_one_line_each(owner_client, sure):
    assert "kept in 100 of 100 runs" in page(owner_client, "week")
    assert "kept in 100 of 100 runs" in page(owner_client, "build-list")


def test_after_a_change_the_part_says_that_it_is_worked_out_anew_and_asks_again(owner_client, sure):
    with write():
        pass
    replan(now=timezone.now())
    address = reverse("owner:build-chances", args=[sure.pk])

    shown = owner_client.get(address)
    assert "being worked out anew" in shown.content.decode()
    assert "data-poll=" in shown.content.decode()
    assert owner_client.get(address, headers={"If-None-Match": shown["ETag"]}).status_code == 304

    work_out_chances(now=timezone.now(), runs=10)
    then = owner_client.get(address, headers={"If-None-Match": shown["ETag"]})
    assert (then.status_code, "data-poll=" in then.content.decode()) == (200, False)


def test_a_build_without_a_promise_is_told_what_80_of_100_runs_keep(owner_client, sure):
    type(sure).objects.update(promised_on=None)
    with write():
        pass
    replan(now=timezone.now())
    work_out_chances(now=timezone.now(), runs=10)

    assert "is kept in 80 of 100 runs" in page(owner_client, "build-page", sure.pk)


def test_another_build_is_not_found(owner_client, sure):
    assert owner_client.get(reverse("owner:build-chances", args=[sure.pk + 1])).status_code == 404


def test_the_part_asks_as_much_for_three_vans_as_for_one(owner_client, sure):
    def queries():
        with CaptureQueriesContext(
            connection,
        ) as found:
            page(owner_client, "build-chances", sure.pk)
        return len(found)

    one = queries()
    for name in ("Teal", "Plover"):
        cast.make_task(cast.make_build(name), "fit-unit")
    assert queries() == one <= 12
