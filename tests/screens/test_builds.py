"""The owner's builds: a new one from its form, its pages, its work, and what is refused in place."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from builds.actions.library import load_standard_library
from builds.actions.planning import replan
from builds.models import Build, Link, Task
from tests import cast
from tests.screens.fragments import part


@pytest.fixture
def library(shop, now):
    load_standard_library(now=now)


def typed(**more):
    form = {
        "name": "Heron",
        "registration": "",
        "customer_name": "The Ashdowns",
        "customer_email": "ashdown@example.org",
        "body_size": "medium_high",
        "status": "agreed",
        "arrives_on": "2027-03-08",
        "promised_on": "2027-05-28",
        "token": str(uuid4()),
        "unit": ["ua", "ub"],
        "installation": ["floor", "lining", "insulation", "twelve_volt", "waste", "water"],
        "plated_mass_kg": "3500",
    }
    for prefix, kind, size in (("ua", "seat_box", (1000, 550, 480)), ("ub", "kitchen", (1200, 500, 880))):
        form |= {f"{prefix}-kind": kind, f"{prefix}-name": kind, f"{prefix}-stands": ""}
        form |= dict(zip((f"{prefix}-{d}_mm" for d in ("width", "depth", "height")), size, strict=True))
    return form | more


def test_the_form_begins_a_build_and_shows_its_page(owner_client, library):
    response = owner_client.post(reverse("owner:build-new"), typed(), follow=True)

    build = Build.objects.get()
    assert response.redirect_chain == [(reverse("owner:build-page", args=[build.pk]), 302)]
    assert build.tasks.count() > 80


def test_a_build_only_asked_about_goes_on_to_when_it_could_be_ready(owner_client, library):
    empty = {"arrives_on": "", "promised_on": ""}
    pressed = typed(then="ready", **empty)
    for _ in range(2):
        response = owner_client.post(reverse("owner:build-new"), pressed, follow=True)
    chosen = owner_client.post(reverse("owner:build-new"), typed(status="asked", name="Teal", **empty))

    asked, other = Build.objects.order_by("pk")
    assert response.redirect_chain == [(reverse("owner:build-ready", args=[asked.pk]), 302)]
    assert "The plan leaves it out until you take it on." in response.text
    assert chosen["Location"] == reverse("owner:build-ready", args=[other.pk])
    assert {asked.status, other.status} == {"asked"}


def test_a_double_press_makes_one_build(owner_client, library):
    form = typed()

    owner_client.post(reverse("owner:build-new"), form)
    owner_client.post(reverse("owner:build-new"), form)

    assert Build.objects.count() == 1


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"promised_on": "2027-03-01"}, "The promise has to be after the day the van comes."),
        ({"arrives_on": "the eighth"}, "Give a day, for example 2027-03-08."),
        ({"ua-width_mm": "9999"}, "9999 mm wide is outside the usual"),
        ({"ua-width_mm": "-5"}, "greater than or equal to 1"),
        ({"installation": ["water"]}, "Fresh water needs"),
        ({"name": ""}, "This field is required."),
        ({"plated_mass_kg": "12 t"}, "Enter a whole number."),
        ({"price_agreed": "-3"}, "greater than or equal to 0"),
    ],
)
def test_wrong_input_gets_words_and_is_kept(owner_client, library, change, words):
    response = owner_client.post(reverse("owner:build-new"), typed(**change))

    page = response.content.decode()
    assert response.status_code == 422
    assert words in page
    assert "The Ashdowns" in page
    assert not Build.objects.exists()


def test_markup_in_a_name_stays_text(owner_client, library):
    owner_client.post(reverse("owner:build-new"), typed(name="<script>alert(1)</script>"))

    page = owner_client.get(reverse("owner:build-list")).content.decode()
    assert "<script>alert(1)" not in page
    assert "&lt;script&gt;alert(1)" in page


def test_a_body_size_and_a_unit_come_as_fragments(owner_client, library):
    van = owner_client.get(
        reverse("owner:van-fields"), {"body_size": "long_high"}, headers={"HX-Request": "true"}
    )
    unit = owner_client.get(reverse("owner:unit-row"), {"kind": "pantry"}, headers={"HX-Request": "true"})
    none = owner_client.get(reverse("owner:unit-row"), {"kind": "piano"}, headers={"HX-Request": "true"})

    assert 'value="4035"' in van.content.decode()
    assert 'value="Pantry"' in unit.content.decode()
    assert none.status_code == 404


def pages_of(build: Build) -> list[str]:
    names = ("page", "work", "facts", "fitted", "record", "papers")
    return [reverse(f"owner:build-{name}", args=[build.pk]) for name in names]


def test_every_page_of_a_build_opens_within_twelve_queries(owner_client, small_build, owner, now):
    replan(now=now)

    for url in pages_of(small_build):
        with CaptureQueriesContext(
            connection,
        ) as queries:
            assert owner_client.get(url).status_code == 200
        assert len(queries) <= 12, (url, len(queries))


def test_the_list_asks_as_often_for_three_builds_as_for_one(owner_client, small_build, now):
    replan(now=now)
    with CaptureQueriesContext(connection) as for_one:
        owner_client.get(reverse("owner:build-list"))
    for name in ("Teal", "Kestrel"):
        cast.make_task(cast.make_build(name), "cut-parts")
    replan(now=now + timedelta(minutes=1))

    with CaptureQueriesContext(connection) as for_three:
        page = owner_client.get(reverse("owner:build-list"))

    assert len(for_three) == len(for_one) <= 12
    assert page.content.decode().count("<tr>") == 4


def test_the_page_tells_the_date_and_the_chain_of_reasons(owner_client, small_build, now):
    replan(now=now)

    page = owner_client.get(reverse("owner:build-page", args=[small_build.pk])).content.decode()

    assert "Tue 2 Mar" in page or "Wed 3 Mar" in page
    assert "because “Glue up” (Heron) needs 24 hours" in page
    assert "because nothing holds it up" in page


def test_searching_the_work_gives_what_a_fresh_page_gives(owner_client, small_build):
    url = reverse("owner:build-work", args=[small_build.pk])

    fragment = owner_client.get(url, {"words": "glue"}, headers={"HX-Request": "true"})
    page = owner_client.get(url, {"words": "glue"})

    assert part(fragment.content.decode(), "build-work-list") == part(
        page.content.decode(), "build-work-list"
    )
    assert "Cut parts" not in fragment.content.decode()


def test_bulk_ticks_need_no_dates(owner_client, small_build):
    ids = list(small_build.tasks.values_list("pk", flat=True)[:2])

    owner_client.post(reverse("owner:task-tick-many", args=[small_build.pk]), {"task": ids})

    assert small_build.tasks.filter(state="done").count() == 2


def test_tasks_of_another_build_are_not_ticked(owner_client, small_build):
    other = cast.make_task(cast.make_build("Teal"), "cut")

    owner_client.post(reverse("owner:task-tick-many", args=[small_build.pk]), {"task": [other.pk, "x", "-1"]})

    assert not Task.objects.filter(state="done").exists()


def test_a_task_page_of_another_build_is_not_found(owner_client, small_build):
    other = cast.make_task(cast.make_build("Teal"), "cut")

    response = owner_client.get(reverse("owner:task", args=[small_build.pk, other.pk]))

    assert response.status_code == 404


def task_typed(task: Task, **more):
    return {
        "name": task.name,
        "trade_id": task.trade_id,
        "place_id": task.place_id,
        "crew": task.crew,
        "hours": task.hours,
        "version": task.version,
        **more,
    }


def test_a_task_is_changed_in_its_form(owner_client, small_build):
    task = small_build.tasks.first()

    owner_client.post(reverse("owner:task", args=[small_build.pk, task.pk]), task_typed(task, hours="6.5"))

    task.refresh_from_db()
    assert float(task.hours) == 6.5


def test_a_stale_task_form_is_told_so_and_keeps_what_was_typed(owner_client, small_build):
    task = small_build.tasks.first()

    response = owner_client.post(
        reverse("owner:task", args=[small_build.pk, task.pk]), task_typed(task, hours="6.5", version=99)
    )

    assert response.status_code == 409
    assert "changed by somebody else" in response.content.decode()
    assert 'value="6.5"' in response.content.decode()


def test_a_loop_is_shown_on_the_task_page(owner_client, small_build):
    first, last = small_build.tasks.first(), small_build.tasks.last()

    response = owner_client.post(
        reverse("owner:task-link", args=[small_build.pk, first.pk]),
        {"link-side": "before", "link-other": last.pk},
    )

    assert response.status_code == 422
    assert "That would make a loop" in response.content.decode()
    assert Link.objects.count() == 2


def test_a_job_nobody_planned_is_added_in_one_form(owner_client, small_build):
    owner_client.post(
        reverse("owner:task-new", args=[small_build.pk]),
        {
            "name": "Free the stuck door",
            "trade_id": "vehicle",
            "place_id": "bay",
            "crew": "1",
            "hours": "1.5",
            "unplanned_job": "on",
            "token": str(uuid4()),
        },
    )

    assert small_build.tasks.get(name="Free the stuck door").unplanned_job


def test_the_plan_mark_answers_304_until_something_changes(owner_client, small_build, now):
    replan(now=now)
    url = reverse("owner:plan-state")
    first = owner_client.get(url)

    again = owner_client.get(url, headers={"If-None-Match": first["ETag"]})
    owner_client.post(reverse("owner:task-copy", args=[small_build.pk, small_build.tasks.first().pk]))
    changed = owner_client.get(url, headers={"If-None-Match": first["ETag"]})

    assert (first.status_code, again.status_code, changed.status_code) == (200, 304, 200)
