"""A supplier's price list: looked at, then taken whole or not at all; orders made before stay as they are."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from builds.actions import materials
from builds.actions.orders import make_order, send_order
from builds.actions.price_lists import look_at_list, take_list
from builds.exchange.price_files import read_prices
from builds.models import Material, PriceList
from tests.cast import NOW
from tests.orders_cast import PAPER, Yard

HEAD = "number,material,price of a pack,lead time days\n"


@pytest.fixture
def yard(shop, joiner, owner):
    return Yard(owner)


def page_of(yard) -> str:
    return reverse("owner:prices", args=[yard.supplier.pk])


def look(client, yard, text: str, **more):
    return client.post(page_of(yard), {"text": text} | more, follow=True)


def price_of(material) -> tuple:
    row = Material.objects.get(pk=material.pk)
    return row.code, row.price, row.lead_days


def take(client, yard, answer):
    row = PriceList.objects.get(supplier=yard.supplier, taken_at=None)
    seen = answer.context["found"].mark
    return client.post(reverse("owner:price-list-take", args=[yard.supplier.pk, row.pk]), {"seen": seen})


def test_a_list_is_looked_at_before_it_is_taken(owner_client, yard):
    answer = look(owner_client, yard, HEAD + "Q-1,Primer,41.00,9\n,Discs,14.80,\n")
    page = answer.content.decode()

    for words in ("38.50", "41.00", "+6.5 %"):
        assert words in page
    assert "1 line stays as it is here" in page
    assert price_of(yard.primer) == ("", Decimal("38.50"), None)

    take(owner_client, yard, answer)

    assert price_of(yard.primer) == ("Q-1", Decimal("41.00"), 9)
    assert price_of(yard.discs) == ("", Decimal("14.80"), None)


def test_a_file_is_read_as_its_text_is(owner_client, yard):
    file = SimpleUploadedFile("spring.csv", (HEAD + ",Primer,41.00,9\n").encode("utf-8-sig"))

    answer = owner_client.post(page_of(yard), {"file": file}, follow=True)

    assert "spring.csv" in answer.content.decode()
    assert len(answer.context["changes"]) == 2


def test_the_supplier_s_number_goes_before_the_name(owner_client, yard):
    materials.change_material(material=yard.discs, fields={"code": "Q-7"}, now=NOW, by=yard.owner)

    answer = look(owner_client, yard, "number,price of a pack\nq-7,15.20\n")

    assert [(c.name, c.after) for c in answer.context["changes"]] == [("Discs", "15.20")]


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("Q-9,,1,", "Line 3, column 1: Nothing the shop buys from Quay Coatings has the number Q-9."),
        (",Varnish,1,", "Line 3, column 2: Nothing the shop buys from Quay Coatings has the name Varnish."),
        (",Tar,1,", "Line 3, column 2: Tar is withdrawn. Bring it back, or take this line out."),
        (",Primer,2,", "Line 3, column 1: Primer stands in line 2 already."),
        (",Discs,-1,", "Line 3, column 3: -1 is not 0"),
        (",Discs,1,never", "Line 3, column 4: “never” is not a whole number"),
    ],
)
def test_one_wrong_line_and_nothing_is_taken(owner_client, yard, line, words):
    tar = yard.material("Tar", pack="1", price="9.00")
    materials.withdraw_material(material=tar, now=NOW, by=yard.owner)
    text = HEAD + ",Primer,41.00,9\n" + line + "\n"

    answer = look(owner_client, yard, text)
    page = answer.content.decode()

    assert answer.status_code == 422
    assert words in page
    assert line in page
    assert not PriceList.objects.exists()
    assert price_of(yard.primer) == ("", Decimal("38.50"), None)


def test_a_number_that_belongs_to_something_else_is_an_error(owner_client, yard):
    materials.change_material(material=yard.discs, fields={"code": "Q-7"}, now=NOW, by=yard.owner)

    answer = look(owner_client, yard, HEAD + "Q-7,Primer,1.00,\n")

    assert "Line 2, column 2: The number Q-7 is Discs here, not Primer." in answer.content.decode()


def test_another_unit_is_an_error(owner_client, yard):
    answer = look(owner_client, yard, "material,unit,price of a pack\nPrimer,kg,1\n")

    assert "Line 2, column 2: Primer is counted in litre here, not in kg." in answer.content.decode()


def test_what_the_shop_does_not_buy_is_left_out_when_asked(owner_client, yard):
    answer = look(owner_client, yard, HEAD + "Q-9,Varnish,1,\n,Primer,41.00,\n", bought_only="on")

    assert "the shop does not buy it: Varnish." in answer.content.decode()
    assert [c.name for c in answer.context["changes"]] == ["Primer"]


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({}, "Choose a file, or paste its text."),
        ({"text": "  \n"}, "Choose a file, or paste its text."),
        ({"file": b"\xff\xfe\x00"}, "This file is not UTF-8 text."),
        ({"text": "a" * 500_001}, "That is more than 500 kB."),
    ],
)
def test_no_list_too_much_or_no_text_is_said_in_place(owner_client, yard, sent, words):
    if "file" in sent:
        sent = {"file": SimpleUploadedFile("list.csv", sent["file"])}

    answer = owner_client.post(page_of(yard), sent)

    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not PriceList.objects.exists()


def test_the_same_list_again_changes_nothing(owner_client, yard):
    text = HEAD + ",Primer,41.00,9\n"
    take(owner_client, yard, look(owner_client, yard, text))

    again = look(owner_client, yard, text).content.decode()

    assert "Nothing in it differs from what is kept." in again
    assert "Take all" not in again


def test_taken_twice_it_is_taken_once(yard):
    text = HEAD + ",Primer,41.00,9\n"
    kept = look_at_list(supplier=yard.supplier, text=text, now=NOW, by=yard.owner)
    assert look_at_list(supplier=yard.supplier, text=text, now=NOW, by=yard.owner) == kept
    take_list(price_list=kept, rows=read_prices(text), now=NOW, by=yard.owner)
    materials.change_material(material=yard.primer, fields={"price": Decimal(44)}, now=NOW, by=yard.owner)

    take_list(price_list=kept, rows=read_prices(text), now=NOW, by=yard.owner)

    assert price_of(yard.primer)[1] == Decimal("44.00")


def test_a_list_looked_at_before_somebody_changed_a_price_is_looked_at_again(owner_client, yard):
    answer = look(owner_client, yard, HEAD + ",Primer,41.00,9\n")
    materials.change_material(material=yard.primer, fields={"price": Decimal(40)}, now=NOW, by=yard.owner)

    said = take(owner_client, yard, answer)
    page = owner_client.get(said.url).content.decode()

    assert "changed in the meantime" in page
    assert price_of(yard.primer)[1] == Decimal("40.00")


def test_orders_made_before_keep_their_prices(owner_client, yard):
    yard.needs(yard.heron, yard.primer, "3 l")
    order = make_order(supplier=yard.supplier, now=NOW, by=yard.owner)
    send_order(order=order, sent_on=date(2027, 3, 1), paper=PAPER, now=NOW, by=yard.owner)
    before = list(order.lines.values())

    take(owner_client, yard, look(owner_client, yard, "material,price of a pack,a pack holds\nPrimer,41,5\n"))

    assert Material.objects.get(pk=yard.primer.pk).pack == Decimal(5)
    assert list(order.lines.values()) == before


def test_the_file_of_today_taken_back_changes_nothing(owner_client, yard):
    file = owner_client.get(reverse("owner:prices-file", args=[yard.supplier.pk]))

    page = look(owner_client, yard, file.content.decode()).content.decode()

    assert "Nothing in it differs from what is kept." in page


def test_a_list_of_another_supplier_is_not_found(owner_client, yard):
    other = materials.add_supplier(name="Sawpit Boards", now=NOW, by=yard.owner)
    kept = look_at_list(supplier=yard.supplier, text=HEAD + ",Primer,4,\n", now=NOW, by=yard.owner)

    assert owner_client.get(reverse("owner:price-list", args=[other.pk, kept.pk])).status_code == 404
    assert owner_client.post(reverse("owner:price-list-take", args=[other.pk, kept.pk])).status_code == 404


def test_pages_ask_as_much_for_three_changes_as_for_one(owner_client, yard):
    def asked(text: str) -> int:
        kept = look_at_list(supplier=yard.supplier, text=text, now=NOW, by=yard.owner)
        with CaptureQueriesContext(connection) as captured:
            url = reverse("owner:price-list", args=[yard.supplier.pk, kept.pk])
            assert owner_client.get(url).status_code == 200
        return len(captured)

    one = asked(HEAD + ",Primer,41.00,\n")
    yard.material("Oil", pack="1", price="9.00")

    assert asked(HEAD + ",Primer,41.00,9\n,Discs,15,\n,Oil,8,\n") == one <= 12
