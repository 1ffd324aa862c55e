"""Stock and offcuts on the owner's pages: counted, taken, kept, moved; nothing twice, nothing forgotten."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from builds.actions import materials
from builds.actions.offcuts import keep_offcut
from builds.actions.stock import count_stock, on_hand
from builds.models import Offcut, StockMovement
from tests import cast
from tests.cast import NOW


@pytest.fixture
def hose(shop, owner):
    return materials.add_material(name="Hose", form="length", unit="m", now=NOW, by=owner)


@pytest.fixture
def ply(shop, owner):
    return cast.make_board()


@pytest.fixture
def offcut(ply, owner):
    return keep_offcut(material=ply, length_mm=900, width_mm=310, lies="rack, left", now=NOW, by=owner)


def url(name: str, *args) -> str:
    return reverse(f"owner:{name}", args=[getattr(a, "pk", a) for a in args])


def text_of(answer) -> str:
    return answer.content.decode()


def count(client, material, quantity: str, **more):
    form = {"quantity": quantity, "token": str(uuid4())} | more
    return client.post(url("stock-count", material), form)


def test_a_count_is_kept_with_where_it_lies_and_its_history(owner_client, hose):
    count(owner_client, hose, "12.5 m", place="Rack B")
    count(owner_client, hose, "11 m", why="a piece was spoilt")

    page = text_of(owner_client.get(url("stock-of", hose)))

    assert on_hand(hose) == 11
    for words in ("Rack B", "12.5 m", "a piece was spoilt"):
        assert words in page
    assert "Hose" in text_of(owner_client.get(url("stock")))


@pytest.mark.parametrize("typed", ["", "-1", "lots", "3 kg", "1e9", "100001 m"])
def test_a_count_that_can_not_be_is_said_and_stays(owner_client, hose, typed):
    answer = count(owner_client, hose, typed, why="Friday count")

    assert answer.status_code == 422
    assert "Friday count" in text_of(answer)
    assert not StockMovement.objects.exists()


def test_a_count_pressed_twice_is_booked_once(owner_client, hose):
    token = str(uuid4())

    count(owner_client, hose, "5 m", token=token)
    count(owner_client, hose, "5 m", token=token)

    assert StockMovement.objects.count() == 1


def test_more_than_there_is_can_not_be_taken(owner_client, owner, hose):
    build = cast.make_build()
    count_stock(material=hose, quantity="4 m", now=NOW, by=owner)
    form = {"kind": "taken", "quantity": "5 m", "build": build.pk, "token": str(uuid4())}

    answer = owner_client.post(url("stock-take", hose), form)

    assert answer.status_code == 422
    assert "4 m of it is on record. Count it first if there is more." in text_of(answer)
    assert on_hand(hose) == 4


def test_what_is_taken_for_a_van_needs_the_van(owner_client, owner, hose):
    count_stock(material=hose, quantity="4 m", now=NOW, by=owner)

    answer = owner_client.post(
        url("stock-take", hose), {"kind": "taken", "quantity": "1 m", "token": str(uuid4())}
    )

    assert answer.status_code == 422
    assert "Say which van it is for." in text_of(answer)


def test_an_offcut_is_kept_once_however_often_it_is_pressed(owner_client, ply):
    form = {
        "material": ply.pk, "length_mm": "700", "width_mm": "400", "lies": "rack, right",
        "token": str(uuid4()),
    }  # fmt: skip

    owner_client.post(url("offcut-list"), form)
    owner_client.post(url("offcut-list"), form)

    assert Offcut.objects.count() == 1
    assert "rack, right" in text_of(owner_client.get(url("offcut-list")))


@pytest.mark.parametrize(
    ("sizes", "words"),
    [
        (("90", "80"), "The shop keeps rests from"),
        (("0", "400"), "greater than or equal to 1"),
        (("700.5", "400"), "whole number"),
        (("9000", "400"), "That is more than"),
        (("700", ""), "A sheet’s offcut needs a width."),
    ],
)
def test_sizes_that_can_not_be_are_said_and_stay(owner_client, ply, sizes, words):
    form = {"material": ply.pk, "length_mm": sizes[0], "width_mm": sizes[1], "lies": "rack, right"}

    answer = owner_client.post(url("offcut-list"), form)

    assert answer.status_code == 422
    assert words in text_of(answer)
    assert "rack, right" in text_of(answer)
    assert not Offcut.objects.exists()


def test_an_offcut_moved_keeps_where_it_lay(owner_client, offcut):
    form = {
        "length_mm": "900",
        "width_mm": "300",
        "lies": "rack, top",
        "why": "planed",
        "version": offcut.version,
    }

    owner_client.post(url("offcut-correct", offcut), form)
    page = text_of(owner_client.get(url("offcut", offcut)))

    for words in ("rack, left", "rack, top", "planed", "310"):
        assert words in page


def test_an_offcut_somebody_used_meanwhile_is_not_used_again(owner_client, owner, offcut):
    build = cast.make_build()
    form = {"build": build.pk, "version": offcut.version}

    first = owner_client.post(url("offcut-use", offcut), form)
    second = owner_client.post(url("offcut-use", offcut), form)

    assert (first.status_code, second.status_code) == (302, 409)
    assert offcut.events.filter(kind="used").count() == 1


def test_what_is_not_there_is_not_found(owner_client, shop):
    for name in ("stock-of", "offcut"):
        assert owner_client.get(url(name, 99999)).status_code == 404
    for name in ("stock-count", "stock-take", "stock-back", "offcut-correct", "offcut-use"):
        assert owner_client.post(url(name, 99999)).status_code == 404


def test_pages_ask_as_much_for_three_as_for_one(owner_client, owner, hose, ply, offcut):
    def asked(*pages: str) -> list[int]:
        found = []
        for page in pages:
            with CaptureQueriesContext(connection) as captured:
                assert owner_client.get(page).status_code == 200
            found.append(len(captured))
        return found

    pages = (url("stock"), url("offcut-list"), url("stock-of", hose), url("offcut", offcut))
    count_stock(material=hose, quantity="4 m", now=timezone.now(), by=owner)
    one = asked(*pages)
    for name in ("Pipe", "Trim"):
        more = materials.add_material(name=name, form="length", unit="m", now=NOW, by=owner)
        count_stock(material=more, quantity="4 m", now=NOW, by=owner)
        count_stock(material=hose, quantity="3 m", place=name, now=timezone.now(), by=owner)
        keep_offcut(material=ply, length_mm=900, width_mm=310, lies=name, now=NOW, by=owner)

    assert asked(*pages) == one
    assert max(one) <= 12
