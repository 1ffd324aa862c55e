"""The owner sees and edits people: who they are, their week, absences, booked days, PIN, trades."""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from builds.models import Absence, OpeningSpan, Person, Trade, VisitDay
from builds.queries.opening import opening_times
from tests.cast import make_person
from tests.screens.forms import filled, post_form


def today() -> date:
    return opening_times().day_of(timezone.now())


def open_day() -> date:
    times = opening_times()
    return next(d for n in range(1, 30) if times.is_open(d := today() + timedelta(days=n)))


def queries_of(client, url: str) -> int:
    with CaptureQueriesContext(
        connection,
    ) as captured:
        assert client.get(url).status_code == 200
    return len(captured)


def make_busy_person(name: str) -> Person:
    person = make_person(name, "joinery", "gas")
    person.hours.create(weekday=0, starts=time(8), ends=time(12))
    person.absences.create(first_day=today(), last_day=today() + timedelta(days=2))
    make_person(f"{name} visits", "gas", is_visitor=True).visit_days.create(date=open_day())
    return person


def test_the_list_asks_as_much_of_the_database_for_three_as_for_one(owner_client):
    make_busy_person("Wren")
    one = queries_of(owner_client, reverse("owner:person-list"))

    make_busy_person("Kit")
    make_busy_person("Sol")

    assert queries_of(owner_client, reverse("owner:person-list")) == one <= 12


def test_a_persons_page_stays_within_twelve_queries(owner_client):
    person = make_busy_person("Wren")
    one = queries_of(owner_client, reverse("owner:person", args=[person.pk]))

    for n in (5, 6):
        person.absences.create(first_day=today() + timedelta(days=n), last_day=today() + timedelta(days=n))

    assert queries_of(owner_client, reverse("owner:person", args=[person.pk])) == one


def test_the_list_says_who_is_away_and_what_is_missing(owner_client):
    make_busy_person("Wren")

    text = owner_client.get(reverse("owner:person-list")).content.decode()

    assert "away now" in text
    assert "no competence on record for gas" in text


def test_an_empty_shop_is_told_to_add_people(owner_client):
    text = owner_client.get(reverse("owner:person-list")).content.decode()

    assert "Nobody works here yet." in text


def test_a_person_is_added_with_trades(owner_client):
    typed = {"name": "Tamsin <i>Reed</i>", "trades": ["joinery", "trim"], "helps": "on"}

    response = owner_client.post(reverse("owner:person-new"), typed)

    person = Person.objects.get()
    assert response["Location"] == reverse("owner:person", args=[person.pk])
    assert [t.key for t in person.trades.all()] == ["joinery", "trim"]
    assert "Tamsin &lt;i&gt;Reed&lt;/i&gt;" in owner_client.get(response["Location"]).content.decode()


@pytest.mark.parametrize(
    "typed",
    [
        {"name": ""},
        {"name": "x" * 10000},
        {"name": "Kit", "trades": ["alchemy"]},
        {"name": "Kit", "is_visitor": "on"},
        {"name": "Wren Alder"},
        {"name": "nul\x00"},
    ],
)
def test_a_person_that_can_not_be_is_said_to_be_and_the_input_kept(owner_client, joiner, typed):
    response = owner_client.post(
        reverse("owner:person-new"), {"competence": "kept words"} | typed, follow=True
    )

    assert response.status_code == 422
    assert filled(response.content.decode())["competence"] == "kept words"
    assert Person.objects.count() == 1


def test_a_person_is_changed(owner_client, joiner):
    page = reverse("owner:person", args=[joiner.pk])

    response = post_form(owner_client, page, {"name": "Wren Moss", "trades": ["gas"]})

    assert response.status_code == 302
    joiner.refresh_from_db()
    assert (joiner.name, [t.key for t in joiner.trades.all()]) == ("Wren Moss", ["gas"])


def test_a_person_changed_on_another_page_is_not_overwritten(owner_client, joiner):
    page = reverse("owner:person", args=[joiner.pk])
    form = filled(owner_client.get(page).content.decode())
    post_form(owner_client, page, {"name": "Wren Moss"})

    response = owner_client.post(page, form | {"name": "Wren Heath"})

    assert response.status_code == 409
    joiner.refresh_from_db()
    assert joiner.name == "Wren Moss"


def test_an_own_week_is_kept_and_may_start_from_the_shops(owner_client, joiner):
    page = reverse("owner:person-hours", args=[joiner.pk])
    copied = post_form(owner_client, page, {"copy": "shop"})
    assert joiner.hours.count() == 0

    response = owner_client.post(page, filled(copied.content.decode()) | {"d4-1-from": "", "d4-1-to": ""})

    assert response.status_code == 302
    assert joiner.hours.count() == OpeningSpan.objects.count() - 1


def test_a_wrong_week_is_named(owner_client, joiner):
    page = reverse("owner:person-hours", args=[joiner.pk])

    response = owner_client.post(page, {"d1-0-from": "12:00", "d1-0-to": "8:00"})

    assert response.status_code == 422
    assert "runs backwards" in response.content.decode()


def add_absence(client, person, **typed):
    return client.post(reverse("owner:absence-add", args=[person.pk]), typed)


def test_an_absence_is_entered_once_and_taken_back(owner_client, joiner):
    for _ in range(2):
        add_absence(
            owner_client,
            joiner,
            first_day=today().isoformat(),
            from_time="9",
            to_time="11:30",
            reason="dentist",
        )
    absence = Absence.objects.get()
    assert (absence.from_time, absence.to_time) == (time(9), time(11, 30))

    owner_client.post(reverse("owner:absence-remove", args=[joiner.pk, absence.pk]))
    assert Absence.objects.count() == 0


@pytest.mark.parametrize(
    "typed",
    [
        {"first_day": "2027-02-30"},
        {"first_day": "2027-03-02", "last_day": "2027-03-01"},
        {"first_day": "2027-03-02", "from_time": "9"},
        {"first_day": "2027-03-02", "from_time": "late", "to_time": "10"},
        {"first_day": "9999-12-31"},
        {},
    ],
)
def test_an_absence_that_can_not_be_is_named_and_the_input_kept(owner_client, joiner, typed):
    response = add_absence(owner_client, joiner, reason="kept words", **typed)

    assert response.status_code == 422
    assert 'value="kept words"' in response.content.decode()
    assert Absence.objects.count() == 0


def test_an_absence_of_somebody_else_is_not_found(owner_client, joiner):
    other = make_person("Kit Marsh", "trim")
    absence = other.absences.create(first_day=today(), last_day=today())

    response = owner_client.post(reverse("owner:absence-remove", args=[joiner.pk, absence.pk]))

    assert response.status_code == 404
    assert Absence.objects.count() == 1


def test_a_visit_is_booked_and_cancelled(owner_client):
    gas = make_person("Ivo Tarn", "gas", is_visitor=True)

    response = owner_client.post(reverse("owner:visit-add", args=[gas.pk]), {"date": open_day().isoformat()})
    assert response.status_code == 302
    visit = VisitDay.objects.get()

    owner_client.post(reverse("owner:visit-cancel", args=[gas.pk, visit.pk]))
    assert VisitDay.objects.count() == 0


def test_a_visit_on_a_closed_day_is_refused_at_its_field(owner_client):
    gas = make_person("Ivo Tarn", "gas", is_visitor=True)
    sunday = today() + timedelta(days=6 - today().weekday() + 7)

    response = owner_client.post(reverse("owner:visit-add", args=[gas.pk]), {"date": sunday.isoformat()})

    assert response.status_code == 422
    assert "The shop is closed that day" in response.content.decode()


def test_a_pin_is_set_and_cleared(owner_client, joiner):
    page = reverse("owner:person-pin", args=[joiner.pk])

    owner_client.post(page, {"pin": "4071"})
    joiner.refresh_from_db()
    assert joiner.pin_is("4071")

    owner_client.post(page, {"clear": "yes"})
    joiner.refresh_from_db()
    assert not joiner.pin_hash


@pytest.mark.parametrize("pin", ["", "12", "1234", "0000", "12ab", "123456789"])
def test_a_pin_that_is_guessed_first_is_refused(owner_client, joiner, pin):
    response = owner_client.post(reverse("owner:person-pin", args=[joiner.pk]), {"pin": pin})

    assert response.status_code == 422
    joiner.refresh_from_db()
    assert not joiner.pin_hash


def test_who_left_stands_under_left_and_may_come_back(owner_client, joiner):
    owner_client.post(reverse("owner:person-leave", args=[joiner.pk]), {"left_on": today().isoformat()})
    joiner.refresh_from_db()
    assert joiner.left_on == today()
    assert "Left (1)" in owner_client.get(reverse("owner:person-list")).content.decode()

    owner_client.post(reverse("owner:person-come-back", args=[joiner.pk]))
    joiner.refresh_from_db()
    assert joiner.left_on is None


def test_nobody_has_left_tomorrow(owner_client, joiner):
    tomorrow = (today() + timedelta(days=1)).isoformat()

    response = owner_client.post(reverse("owner:person-leave", args=[joiner.pk]), {"left_on": tomorrow})

    assert response.status_code == 422


def test_a_trade_is_added_and_renamed(owner_client):
    owner_client.post(reverse("owner:trade-list"), {"name": "Glass", "licensed": "on"})
    trade = Trade.objects.get(key="glass")
    assert trade.licensed

    post_form(owner_client, reverse("owner:trade", args=[trade.pk]), {"name": "Glazing"})

    trade.refresh_from_db()
    assert (trade.key, trade.name) == ("glass", "Glazing")


def test_a_trade_of_a_known_name_is_refused(owner_client):
    response = owner_client.post(reverse("owner:trade-list"), {"name": "joinery"})

    assert response.status_code == 422
    assert "There is a trade of that name." in response.content.decode()


def test_the_trades_list_asks_as_much_for_more_people(owner_client, joiner):
    one = queries_of(owner_client, reverse("owner:trade-list"))
    make_person("Kit", "trim")
    make_person("Sol", "gas")

    assert queries_of(owner_client, reverse("owner:trade-list")) == one <= 12
