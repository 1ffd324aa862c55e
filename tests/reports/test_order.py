"""An order as a paper and as a file."""

from __future__ import annotations

import csv
import io
import logging

import pytest
from pypdf import PdfReader

from builds.actions.materials import change_material
from builds.actions.orders import change_order, make_order
from builds.exchange.csv_files import csv_text, harmless
from builds.exchange.order_files import order_csv
from builds.models import Order
from builds.queries.orders import order_page
from builds.reports.order import order_paper
from tests.cast import NOW
from tests.orders_cast import Yard


@pytest.fixture
def yard(shop, joiner, owner):
    yard = Yard(owner)
    change_material(
        material=yard.primer, fields={"code": "QC-10", "name": "=Primer & <white>"}, now=NOW, by=owner
    )
    yard.needs(yard.heron, yard.primer, "3 l")
    yard.needs(yard.heron, yard.discs, "2", customer_supplies=True)
    yard.plan()
    return yard


@pytest.fixture
def order(yard) -> Order:
    made = make_order(supplier=yard.supplier, now=NOW, by=yard.owner)
    return change_order(order=made, note="Gate code on request", now=NOW, by=yard.owner)


def words_of(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


def test_the_paper_says_what_how_many_and_what_it_costs(order, shop, caplog):
    with caplog.at_level(logging.WARNING):
        page, pdf = order_paper(order, NOW, shop=shop)

    assert [record.message for record in caplog.records] == []
    words = words_of(pdf)
    for said in (
        "Order 1",
        "Quay Coatings",
        "QC-10",
        "2 tins",
        "£38.50",
        "£77.00",
        "£15.40",
        "£92.40",
        "Gate code",
    ):
        assert said in words
    assert "=Primer &amp; &lt;white&gt;" in page
    assert PdfReader(io.BytesIO(pdf)).trailer["/Root"]["/MarkInfo"]["/Marked"] == True  # noqa: E712  a PDF boolean


def test_the_customers_paper_has_no_price(yard, shop):
    order = make_order(customer_of=yard.heron, now=NOW, by=yard.owner)

    page, _ = order_paper(order, NOW, shop=shop)

    assert "Discs" in page
    assert "£" not in page
    assert "VAT" not in page


def test_the_file_can_be_read_back_and_runs_nothing(order, shop):
    text = order_csv(order_page(order, NOW, shop=shop))

    head, line = csv.reader(io.StringIO(text, newline=""), strict=True)
    assert head[2:5] == ["their number", "material", "packs"]
    assert line[2:8] == ["QC-10", "'=Primer & <white>", "2", "2.5 l", "38.50", "77.00"]
    assert text.endswith("\r\n")


@pytest.mark.parametrize("cell", ["=1+1", "+1", "-1", "@x", "\t=1", "\r=1"])
def test_a_cell_that_looks_like_a_formula_is_text(cell):
    assert harmless(cell) == f"'{cell}"


def test_quotes_commas_and_lines_stay_in_their_cell():
    rows = [('say "ply"', "a,b", "two\nlines", -4)]

    read = list(csv.reader(io.StringIO(csv_text(rows), newline=""), strict=True))

    assert read == [['say "ply"', "a,b", "two\nlines", "-4"]]
