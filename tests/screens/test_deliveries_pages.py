"""The owner sees what is on its way and what customers must decide, and says what became of it."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from builds.models import Build, Decision, Delivery
from tests.cast import make_build, make_task
from tests.screens.forms import filled, post_form
from tests.screens.fragments import assert_same_as_fresh


def today() -> date:
    return timezone.localdate()


def in_days(n: int) -> date:
    return today() + timedelta(days=n)


def expected(build: Build, what: str, on: date, **more) -> Delivery:
    row = Delivery.objects.create(build=build, what=what, expected_on=on, first_expected_on=on, **more)
    row.tasks.set(build.tasks.all()[:2])
    return row


def queries_of(client, url: str) -> int:
    with CaptureQueriesContext(connection) as captured:
        assert client.get(url).status_code == 200
    return len(captured)


def test_late_deliveries_come_first(owner_client, small_build):
    expected(small_build, "Worktop", in_days(3))
    expected(small_build, "Fridge", in_days(-3))
    expected(small_build, "Hinges", in_days(-5), arrived_on=today())
    expected(small_build, "Lamp", in_days(30))

    text = owner_client.get(reverse("owner:delivery-list")).content.decode()

    places = [text.index(word) for word in ("3 days late", "Worktop", "Lamp", "Hinges")]
    assert places == sorted(places)


def test_the_list_asks_as_much_for_three_as_for_one(owner_client, small_build):
    expected(small_build, "Worktop", in_days(3))
    one = queries_of(owner_client, reverse("owner:delivery-list"))

    expected(small_build, "Fridge", in_days(-3))
    other = make_build("Plover")
    make_task(other, "cut-parts")
    expected(other, "Lamp", in_days(4))

    assert queries_of(owner_client, reverse("owner:delivery-list")) == one <= 12


def test_an_empty_list_says_what_to_do_first(owner_client):
    assert "Nothing is on its way." in owner_client.get(reverse("owner:delivery-list")).content.decode()


def test_one_vans_deliveries_may_be_shown_alone(owner_client, small_build):
    expected(small_build, "Worktop", in_days(3))
    expected(make_build("Plover"), "Lamp", in_days(3))

    text = owner_client.get(reverse("owner:delivery-list"), {"van": small_build.pk}).content.decode()

    assert "Worktop" in text
    assert "Lamp" not in text


@pytest.mark.parametrize("van", ["x", "-1", "99999999999999999999", "987654"])
def test_a_made_up_van_shows_no_trouble(owner_client, van):
    assert owner_client.get(reverse("owner:delivery-list"), {"van": van}).status_code == 200
    assert owner_client.get(reverse("owner:delivery-choose"), {"van": van}).status_code == 302


def test_a_delivery_is_expected_with_the_tasks_that_wait(owner_client, small_build):
    task = small_build.tasks.first()
    typed = {"what": "<b>Fridge</b>", "expected_on": in_days(9).isoformat(), "tasks": [str(task.pk)]}

    for _ in range(2):
        response = owner_client.post(reverse("owner:delivery-new", args=[small_build.pk]), typed)
        assert response.status_code == 302

    delivery = Delivery.objects.get()
    assert list(delivery.tasks.all()) == [task]
    text = owner_client.get(reverse("owner:delivery-list")).content.decode()
    assert "&lt;b&gt;Fridge&lt;/b&gt;" in text


@pytest.mark.parametrize(
    "typed",
    [
        {"what": ""},
        {"what": "x" * 10000},
        {"expected_on": "2027-02-30"},
        {"expected_on": "9999-01-01"},
        {"quantity": "-1"},
        {"quantity": "many"},
        {"supplier": "987654"},
        {"tasks": ["987654"]},
    ],
)
def test_a_delivery_that_can_not_be_is_named_and_the_input_kept(owner_client, small_build, typed):
    whole = {"what": "Fridge", "expected_on": in_days(9).isoformat(), "note": "kept words"}

    response = owner_client.post(reverse("owner:delivery-new", args=[small_build.pk]), whole | typed)

    assert response.status_code == 422
    assert filled(response.content.decode())["note"] == "kept words"
    assert Delivery.objects.count() == 0


def test_a_task_of_another_van_can_not_be_ticked(owner_client, small_build):
    other = make_task(make_build("Plover"), "cut-parts")
    typed = {"what": "Fridge", "expected_on": in_days(9).isoformat(), "tasks": [str(other.pk)]}

    response = owner_client.post(reverse("owner:delivery-new", args=[small_build.pk]), typed)

    assert response.status_code == 422
    assert Delivery.objects.count() == 0


def step(client, name: str, delivery: Delivery, *, htmx: bool = False, **typed):
    typed = {"version": delivery.version, "van": "", "back": "list"} | typed
    headers = {"HX-Request": "true"} if htmx else {}
    return client.post(reverse(f"owner:delivery-{name}", args=[delivery.pk]), typed, headers=headers)


@pytest.mark.parametrize("name", ["arrived", "shelf"])
def test_a_step_on_the_list_answers_with_the_list_as_a_reload_would_show_it(owner_client, small_build, name):
    delivery = expected(small_build, "Fridge", in_days(-3))
    expected(small_build, "Worktop", in_days(3))
    page = owner_client.get(reverse("owner:delivery-list")).content.decode()

    answer = step(owner_client, name, delivery, htmx=True)

    assert answer.status_code == 200
    fresh = owner_client.get(reverse("owner:delivery-list")).content.decode()
    assert_same_as_fresh(page, answer.content.decode(), fresh, "deliveries")
    delivery.refresh_from_db()
    assert delivery.arrived_on == today()


def test_a_step_without_script_leads_back_to_the_list(owner_client, small_build):
    delivery = expected(small_build, "Fridge", in_days(-3))

    response = step(owner_client, "arrived", delivery)

    assert response["Location"] == reverse("owner:delivery-list")


def test_a_step_on_an_old_list_is_refused_in_place(owner_client, small_build):
    delivery = expected(small_build, "Fridge", in_days(-3))
    Delivery.objects.update(version=7)

    answer = step(owner_client, "arrived", delivery, htmx=True)

    assert answer.status_code == 409
    assert "changed by somebody else" in answer.content.decode()
    delivery.refresh_from_db()
    assert delivery.arrived_on is None


def test_the_date_moves_and_the_page_says_what_was_said_first(owner_client, small_build):
    delivery = expected(small_build, "Fridge", in_days(-3))

    owner_client.post(
        reverse("owner:delivery-date", args=[delivery.pk]),
        {"version": 1, "expected_on": in_days(6).isoformat()},
    )

    delivery.refresh_from_db()
    assert (delivery.expected_on, delivery.first_expected_on) == (in_days(6), in_days(-3))
    text = owner_client.get(reverse("owner:delivery", args=[delivery.pk])).content.decode()
    assert "First said:" in text


def test_a_delivery_is_changed_whole_or_not_at_all(owner_client, small_build):
    delivery = expected(small_build, "Fridge", in_days(4))
    page = reverse("owner:delivery", args=[delivery.pk])

    refused = post_form(owner_client, page, {"what": "Cooler", "expected_on": "9999-01-01"})
    assert refused.status_code == 422
    delivery.refresh_from_db()
    assert delivery.what == "Fridge"

    kept = post_form(
        owner_client, page, {"what": "Cooler", "expected_on": in_days(5).isoformat(), "tasks": []}
    )
    assert kept.status_code == 302
    delivery.refresh_from_db()
    assert (delivery.what, delivery.expected_on, delivery.tasks.count()) == ("Cooler", in_days(5), 0)


def test_an_old_page_of_a_delivery_is_refused_and_may_be_kept_again(owner_client, small_build):
    delivery = expected(small_build, "Fridge", in_days(4))
    page = reverse("owner:delivery", args=[delivery.pk])
    form = filled(owner_client.get(page).content.decode())
    post_form(owner_client, page, {"note": "by lorry"})

    late = owner_client.post(page, form | {"note": "by post"})
    assert late.status_code == 409

    owner_client.post(page, filled(late.content.decode()))
    delivery.refresh_from_db()
    assert delivery.note == "by post"


def test_the_wrong_box_is_awaited_again_and_may_be_taken_off(owner_client, small_build):
    delivery = expected(small_build, "Fridge", in_days(-3), arrived_on=today())

    step(owner_client, "not-here", delivery)
    delivery.refresh_from_db()
    assert delivery.arrived_on is None

    step(owner_client, "cancel", delivery)
    assert Delivery.objects.count() == 0
    assert step(owner_client, "cancel", delivery).status_code == 404


def test_nothing_arrives_tomorrow(owner_client, small_build):
    delivery = expected(small_build, "Fridge", in_days(-3))

    response = step(owner_client, "arrived", delivery, on=in_days(1).isoformat(), back="")

    assert response.status_code == 422
    assert "That day is still to come." in response.content.decode()


def asked(build: Build, what: str, by: date) -> Decision:
    row = Decision.objects.create(build=build, what=what, needed_by=by)
    row.tasks.set(build.tasks.all()[:1])
    return row


def test_a_question_is_asked_answered_and_asked_again(owner_client, small_build):
    task = small_build.tasks.first()
    typed = {"what": "Colour of the fronts", "needed_by": in_days(5).isoformat(), "tasks": [str(task.pk)]}
    for _ in range(2):
        owner_client.post(reverse("owner:decision-new", args=[small_build.pk]), typed)
    decision = Decision.objects.get()
    assert list(decision.tasks.all()) == [task]

    owner_client.post(reverse("owner:decision-decide", args=[decision.pk]), {"answer": "Sage green"})
    decision.refresh_from_db()
    assert (decision.answer, decision.decided_on) == ("Sage green", today())
    assert "Sage green" in owner_client.get(reverse("owner:decision-list")).content.decode()

    again = {"needed_by": in_days(9).isoformat()}
    owner_client.post(reverse("owner:decision-again", args=[decision.pk]), again)
    decision.refresh_from_db()
    assert (decision.decided_on, decision.needed_by) == (None, in_days(9))


@pytest.mark.parametrize(
    "typed", [{"what": ""}, {"what": "x" * 161}, {"needed_by": "soon"}, {"tasks": ["1x"]}]
)
def test_a_question_that_can_not_be_is_named(owner_client, small_build, typed):
    whole = {"what": "Colour", "needed_by": in_days(5).isoformat()}

    response = owner_client.post(reverse("owner:decision-new", args=[small_build.pk]), whole | typed)

    assert response.status_code == 422
    assert Decision.objects.count() == 0


def test_an_answer_without_words_is_refused_at_its_field(owner_client, small_build):
    decision = asked(small_build, "Colour", in_days(3))

    response = owner_client.post(reverse("owner:decision-decide", args=[decision.pk]), {"answer": " "})

    assert response.status_code == 422


def test_an_old_page_does_not_answer_twice(owner_client, small_build):
    decision = asked(small_build, "Colour", in_days(3))
    page = owner_client.get(reverse("owner:decision", args=[decision.pk])).content.decode()
    seen = filled(page)["seen"]
    url = reverse("owner:decision-decide", args=[decision.pk])
    owner_client.post(url, {"answer": "Oak", "seen": seen})

    response = owner_client.post(url, {"answer": "Birch", "seen": seen})

    assert response.status_code == 409
    decision.refresh_from_db()
    assert decision.answer == "Oak"


def test_a_question_is_changed_and_taken_off(owner_client, small_build):
    decision = asked(small_build, "Colour", in_days(3))

    post_form(owner_client, reverse("owner:decision", args=[decision.pk]), {"what": "Colour of the doors"})
    decision.refresh_from_db()
    assert (decision.what, decision.tasks.count()) == ("Colour of the doors", 1)

    owner_client.post(reverse("owner:decision-drop", args=[decision.pk]))
    assert Decision.objects.count() == 0


def test_the_questions_ask_as_much_for_three_as_for_one(owner_client, small_build):
    asked(small_build, "Colour", in_days(-3))
    one = queries_of(owner_client, reverse("owner:decision-list"))

    asked(small_build, "Worktop", in_days(3))
    asked(make_build("Plover"), "Sockets", in_days(4))

    assert queries_of(owner_client, reverse("owner:decision-list")) == one <= 12


def test_a_delivery_page_stays_within_twelve_queries(owner_client, small_build):
    delivery = expected(small_build, "Fridge", in_days(4))
    one = queries_of(owner_client, reverse("owner:delivery", args=[delivery.pk]))

    for n in range(3):
        make_task(small_build, f"more-{n}")

    assert queries_of(owner_client, reverse("owner:delivery", args=[delivery.pk])) == one <= 12
