"""Price lists as files: read by RFC 4180, every error by line and column, written so that nothing runs."""

from __future__ import annotations

from decimal import Decimal

import pytest

from builds.exchange.list_files import UnreadableList
from builds.exchange.price_files import prices_csv, read_prices
from builds.models import Material


def read(text: str) -> list[tuple]:
    return [(row.line, row.code, row.name, row.price, row.lead_days) for row in read_prices(text)]


def errors_of(text: str) -> list[str]:
    with pytest.raises(UnreadableList) as caught:
        read_prices(text)
    return [str(error) for error in caught.value.errors]


def test_columns_come_in_any_order_and_empty_cells_say_nothing():
    text = "price of a pack,Number,material\r\n12.50,Q-1,\r\n,Q-2,Oil\r\n"

    assert read(text) == [(2, "Q-1", "", Decimal("12.50"), None), (3, "Q-2", "Oil", None, None)]


def test_quotes_hold_commas_quotes_and_line_ends():
    """RFC 4180, section 2, rules 5 to 7; lines are counted as an editor counts them."""
    text = '\ufeffmaterial,price of a pack\r\n"Discs, ""fine""\r\nand coarse",1\r\n\r\nOil,2\r\n'

    assert [row[:1] + row[2:4] for row in read(text)] == [
        (2, 'Discs, "fine"\r\nand coarse', Decimal("1.00")),
        (5, "Oil", Decimal("2.00")),
    ]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "Line 1: There is nothing in it."),
        ("material,price of a pack\n", "Line 1: Below the heads stands nothing."),
        ("price of a pack\n1\n", "Line 1: A column “number” or “material” is needed."),
        ("material,colour\nOil,red\n", "Line 1, column 2: “colour” is no column here."),
        ("material,material\nOil,Oil\n", "Line 1, column 2: The column “material” stands there twice."),
        ("material;price of a pack\nOil;1\n", "Line 1, column 1: The columns are parted by semicolons."),
        ('material,price of a pack\nOil,"12,50"\n', "Line 2, column 2: “12,50” is no number. Write it with"),
        ("material,price of a pack\nOil,-1\n", "Line 2, column 2: -1 is not 0 to under 10000000."),
        ("material,price of a pack\nOil,nan\n", "Line 2, column 2: nan is not 0"),
        ("material,price of a pack\nOil,1.005\n", "Line 2, column 2: 1.005 has more than 2 digits"),
        ("material,a pack holds\nOil,0\n", "Line 2, column 2: It must be more than 0."),
        (
            "material,lead time days\nOil,1.5\n",
            "Line 2, column 2: “1.5” is not a whole number from 0 to 365.",
        ),
        ("material,fewest packs\nOil,0\n", "Line 2, column 2: “0” is not a whole number from 1"),
        ("material,price of a pack\nOil,1,2\n", "Line 2, column 3: 3 cells, but 2 columns."),
        ("material,unit\n,m\n", "Line 2, column 1: Say which material"),
        ('material,price of a pack\nOil,"1\nVarnish,2\n', "Line 2: A quotation mark is not closed"),
        ('material,price of a pack\nOil,"1"2\n', "Line 2: A quotation mark is not closed, or stands inside"),
        ("material,number\nOil,\0\n", "Line 2: This is no text file."),
    ],
)
def test_what_can_not_be_read_is_said_by_line_and_column(text, words):
    assert errors_of(text)[0].startswith(words)


def test_every_wrong_cell_is_told_at_once():
    text = "material,price of a pack\nOil,x\nVarnish,1\nGlue,y\n"

    assert [error.split(":")[0] for error in errors_of(text)] == ["Line 2, column 2", "Line 4, column 2"]


def test_more_lines_than_can_be_looked_at_are_refused():
    text = "material\n" + "Oil\n" * 5002

    assert errors_of(text) == ["Line 5002: More than 5,000 lines. Take it in parts."]


def test_what_is_written_is_read_back_and_runs_in_no_spreadsheet():
    odd = Material(name='=cmd|"calc"', code="+44", unit="m**2", pack=Decimal("2.977"), price=Decimal("31.40"))

    written = prices_csv([odd])
    row = read_prices(written)[0]

    assert '\r\n\'+44,"\'=cmd|""calc""",2.977,m²,31.40,20,,1\r\n' in written
    assert (row.code, row.name, row.unit, row.pack, row.price) == (
        "+44", '=cmd|"calc"', "m²", Decimal("2.977"), Decimal("31.40"),
    )  # fmt: skip
