"""The first day: who may begin, what is there afterwards, and what can't be typed."""

from __future__ import annotations

import pytest

from builds.actions.beginning import begin_token
from builds.models import OpeningSpan, Person, Shop, StandardTask, Trade, User

pytestmark = pytest.mark.django_db

FILLED = {
    "name": "Alder Yard",
    "country": "GB",
    "zone": "Europe/London",
    "currency": "GBP",
    "owner_name": "Ada Alder",
    "username": "ada",
    "password": "kettle-boils-14",
    "owner_trades": ["joinery", "trim"],
}


def address() -> str:
    return f"/begin/{begin_token()}/"


def test_the_first_owner_begins_signed_in_with_the_trades_standard_work(client):
    response = client.post(address(), FILLED, follow=True)

    assert response.redirect_chain == [("/", 302)]
    assert "No vans yet" in response.text
    assert User.objects.get().check_password("kettle-boils-14")
    assert Shop.objects.get().name == "Alder Yard"
    assert set(Person.objects.get().trades.values_list("key", flat=True)) == {"owner", "joinery", "trim"}
    assert OpeningSpan.objects.count() == 10
    assert StandardTask.objects.exists()


def test_the_first_steps_say_what_is_missing(client):
    page = client.post(address(), FILLED, follow=True).text

    assert "1 person so far" in page
    assert "Nobody leads" in page
    assert "40 h a week are set" in page.replace("\u202f", " ")


def test_nobody_begins_twice(client):
    client.post(address(), FILLED)
    client.logout()

    again = client.post(address(), FILLED | {"username": "other"})

    assert again.status_code == 404
    assert User.objects.count() == 1


def test_another_address_begins_nothing(client):
    assert client.post("/begin/0123456789012345678901234567890123456789/", FILLED).status_code == 404
    assert not User.objects.exists()


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("password", "short", "at least 10"),
        ("password", "password123", "too common"),
        ("name", "", "required"),
        ("currency", "pound", "3 characters"),
        ("currency", "p1", "three capital letters"),
        ("zone", "Moon/Base", "not one of the available choices"),
        ("owner_name", "   ", "required"),
        ("username", "a b!", "valid username"),
    ],
)
def test_what_cant_be_is_said_at_its_field_and_nothing_is_made(client, field, value, words):
    response = client.post(address(), FILLED | {field: value})

    assert response.status_code == 422
    assert words in response.text
    assert "Alder Yard" in response.text or field == "name"
    assert not User.objects.exists()
    assert not Trade.objects.exists()


def test_the_sign_in_page_says_when_nobody_can_sign_in(client):
    assert "Nobody can sign in yet" in client.get("/sign-in/").text

    client.post(address(), FILLED)
    client.logout()

    assert "Nobody can sign in yet" not in client.get("/sign-in/").text
