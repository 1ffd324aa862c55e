"""Stock is the sum of movements that are only added."""

from __future__ import annotations

from decimal import Decimal
from uuid import uuid4

import pytest

from builds.actions import materials
from builds.actions.door import Refused
from builds.actions.stock import count_stock, on_hand, put_back_in_stock, take_from_stock
from builds.models import Journal, StockMovement
from tests import cast
from tests.cast import NOW


@pytest.fixture
def screws(shop, owner):
    return materials.add_material(name="Screws 4 x 30", pack=Decimal(200), now=NOW, by=owner)


@pytest.fixture
def hose(shop, owner):
    return materials.add_material(
        name="Hose 12", form="length", unit="m", pack=Decimal(25), now=NOW, by=owner
    )


def movements(material) -> list[tuple]:
    rows = StockMovement.objects.filter(material=material).order_by("pk")
    return [(row.kind, row.change, row.counted) for row in rows]


def test_a_count_books_the_difference_and_keeps_what_was_there(screws, owner):
    count_stock(material=screws, quantity="300", place="drawer 4", now=NOW, by=owner)
    count_stock(material=screws, quantity="260", why="found fewer", now=NOW, by=owner)

    assert on_hand(screws) == Decimal(260)
    assert movements(screws) == [
        ("counted", Decimal(300), Decimal(300)),
        ("counted", Decimal(-40), Decimal(260)),
    ]
    assert StockMovement.objects.first().place == "drawer 4"
    assert Journal.objects.first().what == "Counted 260 of Screws 4 x 30, not 300"


def test_what_is_taken_for_a_van_leaves_the_stock(hose, owner):
    heron = cast.make_build("Heron")
    count_stock(material=hose, quantity="25 m", now=NOW, by=owner)

    take_from_stock(material=hose, quantity="3500 mm", build=heron, now=NOW, by=owner)
    take_from_stock(material=hose, quantity="1", build=None, kind="lost", why="cut wrong", now=NOW, by=owner)
    put_back_in_stock(material=hose, quantity="0.5", build=heron, now=NOW, by=owner)

    assert on_hand(hose) == Decimal("21.000")


def test_more_than_there_is_can_not_be_taken(hose, owner):
    heron = cast.make_build("Heron")
    count_stock(material=hose, quantity="2", now=NOW, by=owner)

    with pytest.raises(Refused, match="2 m of it is on record"):
        take_from_stock(material=hose, quantity="2.001", build=heron, now=NOW, by=owner)

    assert on_hand(hose) == Decimal(2)


def test_the_same_form_twice_books_once(hose, owner):
    token = uuid4()
    heron = cast.make_build("Heron")
    count_stock(material=hose, quantity="9", now=NOW, by=owner)

    for _ in range(2):
        take_from_stock(material=hose, quantity="4", build=heron, token=token, now=NOW, by=owner)

    assert on_hand(hose) == Decimal(5)


@pytest.mark.parametrize("typed", ["-1", "lots", "3 l", "1000000", ""])
def test_what_can_not_be_counted_is_refused(hose, owner, typed):
    with pytest.raises(Refused) as refusal:
        count_stock(material=hose, quantity=typed, now=NOW, by=owner)

    assert refusal.value.field == "quantity"


def test_nothing_left_can_be_counted(hose, owner):
    count_stock(material=hose, quantity="9", now=NOW, by=owner)
    count_stock(material=hose, quantity="0", now=NOW, by=owner)

    assert on_hand(hose) == 0
