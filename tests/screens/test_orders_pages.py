"""Orders on the owner's pages: made, sent, booked once by whoever is first, and kept as typed where wrong."""

from __future__ import annotations

import csv
import io
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from builds.actions import materials
from builds.actions.orders import make_order, send_order
from builds.models import Delivery, Order, Receipt
from tests.orders_cast import PAPER, Yard
from tests.screens.forms import filled, post_form


@pytest.fixture
def yard(shop, joiner, owner):
    yard = Yard(owner)
    yard.needs(yard.heron, yard.primer, "3 l")
    yard.needs(yard.teal, yard.discs, "60")
    yard.plan()
    return yard


def draft(yard, **more) -> Order:
    return make_order(supplier=yard.supplier, now=timezone.now(), by=yard.owner, **more)


@pytest.fixture
def sent(yard) -> Order:
    order = draft(yard)
    today = timezone.localdate()
    send_order(order=order, sent_on=today, paper=PAPER, now=timezone.now(), by=yard.owner)
    order.refresh_from_db()
    return order


def url(name: str, *args) -> str:
    return reverse(f"owner:{name}", args=[getattr(a, "pk", a) for a in args])


def text_of(answer) -> str:
    return answer.content.decode()


def line_of(order, material):
    return order.lines.get(material=material)


def test_what_is_ticked_is_ordered_once_however_often_it_is_pressed(owner_client, yard):
    form = {"supplier": yard.supplier.pk, "material": [yard.primer.pk], "token": str(uuid4())}

    first = owner_client.post(url("order-make"), form)
    second = owner_client.post(url("order-make"), form)

    assert first.url == second.url
    assert [line.name for line in Order.objects.get().lines.all()] == ["Primer"]


def test_the_order_shows_for_whom_it_is_and_what_is_still_to_come(owner_client, sent):
    page = text_of(owner_client.get(url("order", sent)))

    assert "Heron" in page
    assert "Teal" in page
    assert "Primer" in page


def test_numbers_that_can_not_be_are_said_and_what_was_typed_stays(owner_client, yard):
    order = draft(yard)
    field = f"packs-{line_of(order, yard.primer).pk}"

    answer = post_form(owner_client, url("order", order), {field: "1.5", "note": "to the back gate"})

    assert answer.status_code == 422
    assert 'value="1.5"' in text_of(answer)
    assert "to the back gate" in text_of(answer)
    assert line_of(order, yard.primer).packs == 2


def test_a_material_withdrawn_since_is_named_and_nothing_is_sent(owner_client, yard):
    order = draft(yard)
    materials.withdraw_material(material=yard.primer, now=timezone.now(), by=yard.owner)
    page = text_of(owner_client.get(url("order", order)))

    answer = owner_client.post(
        url("order-send", order), {"sent_on": timezone.localdate().isoformat(), "version": order.version}
    )

    assert "Withdrawn: Primer. Bring it back under Materials, or take it out here." in page
    assert answer.status_code == 422
    assert "Primer is withdrawn, so it can’t be ordered." in text_of(answer)
    assert not Delivery.objects.exists()


@pytest.mark.parametrize(
    ("days", "words"), [((1, 3), "That day is still to come."), ((0, -1), "It comes after it is sent")]
)
def test_days_that_can_not_be_are_said_and_stay(owner_client, yard, days, words):
    order = draft(yard)
    sent_on, expected_on = ((timezone.localdate() + timedelta(days=n)).isoformat() for n in days)

    answer = owner_client.post(
        url("order-send", order), {"sent_on": sent_on, "expected_on": expected_on, "version": order.version}
    )

    assert answer.status_code == 422
    assert words in text_of(answer)
    assert f'value="{expected_on}"' in text_of(answer)
    assert Order.objects.get().state == "draft"


def test_sent_twice_it_is_sent_once(owner_client, yard):
    order = draft(yard)
    form = {"sent_on": timezone.localdate().isoformat(), "version": order.version}

    first = owner_client.post(url("order-send", order), form)
    second = owner_client.post(url("order-send", order), form)

    assert (first.status_code, second.status_code) == (302, 409)
    assert Delivery.objects.filter(line__order=order, build=yard.heron).count() == 1


def test_a_part_came_one_pack_damaged(owner_client, yard, sent):
    line = line_of(sent, yard.primer)
    typed = {f"good-{line.pk}": "1", f"damaged-{line.pk}": "1", f"good-{line_of(sent, yard.discs).pk}": "0"}

    answer = post_form(owner_client, url("order-book", sent), typed)
    page = text_of(owner_client.get(answer.url))

    row = Receipt.objects.get()
    assert (row.good, row.damaged, row.missing) == (1, 1, 0)
    assert "1 tin came, 1 tin damaged" in page or "damaged" in page
    assert "Find it now" in page


@pytest.mark.parametrize("typed", ["-1", "three", "99"])
def test_what_can_not_have_come_is_said_beside_the_line_and_stays(owner_client, yard, sent, typed):
    field = f"good-{line_of(sent, yard.primer).pk}"

    answer = post_form(owner_client, url("order-book", sent), {field: typed, "note": "van of Tuesday"})

    assert answer.status_code == 422
    assert f'value="{typed}"' in text_of(answer)
    assert "van of Tuesday" in text_of(answer)
    assert not Receipt.objects.exists()


def test_the_same_press_twice_books_once(owner_client, yard, sent):
    page = url("order-book", sent)
    form = filled(text_of(owner_client.get(page)))

    owner_client.post(page, form)
    owner_client.post(page, form)

    assert Receipt.objects.count() == 2
    assert {row.line_id for row in Receipt.objects.all()} == {line.pk for line in sent.lines.all()}


def test_two_people_booking_one_delivery_at_once_book_it_once(owner_client, owner, yard, sent):
    """Both have the page open; the second is told what there is by now, and what was typed stays."""
    other = Client()
    other.force_login(owner)
    page = url("order-book", sent)
    discs = f"good-{line_of(sent, yard.discs).pk}"
    mine = filled(text_of(owner_client.get(page))) | {discs: "0"}
    theirs = filled(text_of(other.get(page))) | {discs: "0", "note": "by the door"}

    first = owner_client.post(page, mine)
    second = other.post(page, theirs)

    assert (first.status_code, second.status_code) == (302, 409)
    assert Receipt.objects.count() == 1
    assert "changed by somebody else in the meantime" in text_of(second)
    assert "by the door" in text_of(second)


def test_a_booking_taken_back_stays_on_record(owner_client, yard, sent):
    post_form(owner_client, url("order-book", sent), {})
    sent.refresh_from_db()
    row = Receipt.objects.first()

    owner_client.post(url("order-take-back", sent, row), {"version": sent.version})

    row.refresh_from_db()
    assert row.taken_back_at is not None
    assert "taken back" in text_of(owner_client.get(url("order", sent)))


def test_another_day_is_shown_with_what_it_does_before_it_is_kept(owner_client, yard, sent):
    day = (timezone.localdate() + timedelta(days=20)).isoformat()

    page = text_of(owner_client.get(url("order-day", sent), {"expected_on": day, "version": sent.version}))
    before = set(Delivery.objects.values_list("expected_on", flat=True))
    owner_client.post(url("order-day", sent), {"expected_on": day, "version": sent.version})

    assert "What this does:" in page
    assert day not in {d.isoformat() for d in before}
    assert {d.isoformat() for d in Delivery.objects.values_list("expected_on", flat=True)} == {day}


def test_what_belongs_to_another_order_is_not_found(owner_client, yard, sent):
    post_form(owner_client, url("order-book", sent), {})
    other = materials.add_supplier(name="Sawpit Boards", now=timezone.now(), by=yard.owner)
    answer = owner_client.post(url("order-make-empty"), {"supplier": other.pk, "token": str(uuid4())})
    empty = Order.objects.get(supplier=other)

    assert answer.url == url("order", empty)
    assert owner_client.post(url("order-take-back", empty, Receipt.objects.first())).status_code == 404
    for name in ("order", "order-pdf", "order-csv", "order-book"):
        assert owner_client.get(url(name, 99999)).status_code == 404


def test_the_file_of_an_order_has_every_figure_as_a_buyer_reads_it(owner_client, sent):
    answer = owner_client.get(url("order-csv", sent))

    rows = list(csv.DictReader(io.StringIO(answer.content.decode())))
    assert len(rows) == sent.lines.count()
    for row in rows:
        assert row["VAT %"] == "20"
        assert row["price of a pack"].count(".") == row["net"].count(".") == 1
        assert Decimal(row["net"]) == int(row["packs"]) * Decimal(row["price of a pack"])


def test_somebody_not_the_owner_sees_no_order(client, yard, sent):
    for name in ("order", "order-pdf", "order-csv", "order-book"):
        assert client.get(url(name, sent)).status_code in (302, 403, 404)


def test_pages_of_orders_ask_as_much_for_three_as_for_one(owner_client, yard):
    def asked(page: str) -> int:
        with CaptureQueriesContext(connection) as captured:
            assert owner_client.get(page).status_code == 200
        return len(captured)

    def an_order() -> Order:
        order = draft(yard)
        send_order(order=order, sent_on=timezone.localdate(), paper=PAPER, now=timezone.now(), by=yard.owner)
        return order

    first = an_order()
    pages = [url("order-list"), url("order", first), url("order-book", first)]
    one = [asked(page) for page in pages]
    for name in ("Oil", "Wax", "Filler"):
        yard.needs(yard.heron, yard.material(name, pack="1", price="9.00"), "2")
    second = an_order()
    yard.needs(yard.teal, yard.material("Thinner", pack="1", price="9.00"), "2")
    an_order()

    three = [asked(page) for page in [url("order-list"), url("order", second), url("order-book", second)]]

    assert three == one
    assert max(three) <= 12
