"""When could it be ready? The date for a van not taken on, promised with one press, and what is refused."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from builds.actions.planning import replan
from builds.models import Build, PlanRow, PlanState, PromiseTold, Shop
from tests import cast

pytestmark = pytest.mark.django_db


@pytest.fixture
def today():
    return timezone.localdate()


@pytest.fixture
def asked(shop, joiner, today):
    """One van at work, and one that was asked about."""
    here = cast.make_build("Heron", arrives_on=today, promised_on=today + timedelta(days=90))
    cast.make_task(here, "fit-unit", hours=20)
    Shop.objects.update(revision=1)
    replan(now=timezone.now())
    build = cast.make_build("Plover", status="asked", arrives_on=None, promised_on=None)
    cut = cast.make_task(build, "cut", hours=30, place_id="bench", needs_van=False)
    cast.make_task(build, "fit", hours=6, after=(cut,))
    return build


def address(build):
    return reverse("owner:build-ready", args=[build.pk])


def offered(client, build):
    shown = client.get(address(build)).content.decode()
    return dict(re.findall(r'name="(arrives_on|promised_on|version)" value="([^"]+)"', shown))


def test_the_page_gives_a_date_and_a_press_promises_it(owner_client, asked):
    form = offered(owner_client, asked)

    owner_client.post(address(asked), form)
    owner_client.post(address(asked), form)

    asked.refresh_from_db()
    assert (asked.arrives_on.isoformat(), asked.promised_on.isoformat()) == (
        form["arrives_on"],
        form["promised_on"],
    )
    assert asked.status == "asked"
    assert PromiseTold.objects.filter(build=asked).count() == 1


def test_looking_and_promising_leave_the_plan_of_the_others_alone(owner_client, asked):
    before = list(PlanRow.objects.values()), PlanState.objects.values().get()

    owner_client.post(address(asked), offered(owner_client, asked))

    assert (list(PlanRow.objects.values()), PlanState.objects.values().get()) == before


def test_a_promise_made_before_gives_way_to_a_later_pair(owner_client, asked, today):
    Build.objects.filter(pk=asked.pk).update(
        arrives_on=today + timedelta(days=1), promised_on=today + timedelta(days=2)
    )
    form = offered(owner_client, asked)
    later = {"arrives_on": today + timedelta(days=40), "promised_on": today + timedelta(days=80)}

    assert owner_client.post(address(asked), form | later).status_code == 302
    asked.refresh_from_db()
    assert asked.promised_on == later["promised_on"]


def test_work_nobody_can_do_is_named_instead_of_a_date(owner_client, asked):
    cast.make_task(asked, "wiring", trade_id="electrical")

    shown = owner_client.get(address(asked)).content.decode()

    assert "nobody at work has the trade" in shown
    assert "Promise this date" not in shown


def test_a_build_without_work_says_so(owner_client, shop):
    build = cast.make_build("Plover", status="asked", arrives_on=None, promised_on=None)

    assert "It has no work yet" in owner_client.get(address(build)).content.decode()


@pytest.mark.parametrize(
    ("since", "words"),
    [
        ("2020-01-01", "That day is over."),
        ("9999-12-31", "more than three years away"),
        ("soon", "Give a day, for example"),
        ("", "This field is required."),
    ],
)
def test_a_day_that_cannot_be_gets_words(owner_client, asked, since, words):
    response = owner_client.get(address(asked), {"since": since})

    assert response.status_code == 422
    assert words in response.content.decode()


@pytest.mark.parametrize(
    ("change", "status"),
    [
        ({"version": "99"}, 409),
        ({"promised_on": "2027-01-01", "arrives_on": "2027-01-01"}, 422),
        ({"promised_on": "x"}, 422),
        ({"promised_on": "9999-01-01"}, 422),
    ],
)
def test_an_offer_that_is_old_or_odd_is_refused_and_nothing_kept(owner_client, asked, change, status):
    form = offered(owner_client, asked) | change

    assert owner_client.post(address(asked), form).status_code == status
    asked.refresh_from_db()
    assert (asked.arrives_on, asked.promised_on) == (None, None)


def test_a_build_that_is_taken_on_has_its_own_forecast(owner_client, asked):
    Build.objects.filter(pk=asked.pk).update(status="agreed")

    assert owner_client.get(address(asked)).url == reverse("owner:build-page", args=[asked.pk])
    assert owner_client.get(address(asked).replace(str(asked.pk), "9999")).status_code == 404


def test_it_asks_as_much_beside_three_vans_as_beside_one(owner_client, asked, today):
    def queries():
        with CaptureQueriesContext(connection) as found:
            owner_client.get(address(asked))
        return len(found)

    one = queries()
    for name in ("Teal", "Kestrel"):
        cast.make_task(cast.make_build(name, arrives_on=today, promised_on=None), "fit", hours=3)
    assert queries() == one
    print(one)
