"""A supplier's prices and lead times as CSV: written to be filled in, read back whole or not at all."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from decimal import Decimal, InvalidOperation

from builds.exchange.csv_files import Cells, as_meant, csv_text
from builds.exchange.list_files import Column, UnreadableList, fields_of, lines_of, text_of, whole_of
from builds.models import Material
from builds.queries.price_lists import ListError, PriceRow

MOST_LINES = 5000


COLUMNS = (
    Column("number", "code", "the supplier’s number; the material is found by it"),
    Column(
        "material", "name", "the name as it is here; the material is found by it where no number is known"
    ),
    Column("a pack holds", "pack", "how many of the unit, more than 0, three digits after the point at most"),
    Column("unit", "unit", "the unit the material is counted in here; only compared"),
    Column("price of a pack", "price", "without VAT, two digits after the point at most"),
    Column("VAT %", "vat_percent", "0 to under 100"),
    Column("lead time days", "lead_days", "whole days, 0 to 365"),
    Column("fewest packs", "least_packs", "whole packs, 1 to 10000"),
)


def prices_csv(materials: Iterable[Material]) -> str:
    """What is bought from one supplier, as the file that `read_prices` reads."""
    rows = (
        (
            m.code,
            m.name,
            f"{m.pack.normalize():f}",
            m.get_unit_display(),
            f"{m.price:.2f}",
            f"{m.vat_percent.normalize():f}",
            "" if m.lead_days is None else m.lead_days,
            m.least_packs,
        )
        for m in materials
    )
    return csv_text([[column.head for column in COLUMNS], *rows])


def read_prices(text: str) -> tuple[PriceRow, ...]:
    """The lines of a price list (RFC 4180, the first line names the columns, in any order).

    An empty cell changes nothing. Raises UnreadableList with every error by line and column.
    """
    lines = lines_of(text, most=MOST_LINES)
    head = _head(lines[0])
    errors: list[ListError] = []
    rows = [row for cells in lines[1:] if (row := _row(cells, head, errors)) is not None]
    if errors:
        raise UnreadableList(errors)
    if not rows:
        raise UnreadableList([ListError(lines[0].line, None, "Below the heads stands nothing.")])
    return tuple(rows)


def _head(first: Cells) -> dict[str, int]:
    """Field to column (from 0); a material is found by its number or its name."""
    found = fields_of(first, COLUMNS)
    if not {"code", "name"} & set(found):
        raise UnreadableList([ListError(first.line, None, "A column “number” or “material” is needed.")])
    return found


def _row(cells: Cells, head: dict[str, int], errors: list[ListError]) -> PriceRow | None:
    if len(cells.cells) > len(head):
        words = f"{len(cells.cells)} cells, but {len(head)} columns. Quote a cell that has a comma in it."
        errors.append(ListError(cells.line, len(head) + 1, words))
        return None
    values: dict[str, object] = {}
    for field, at in head.items():
        text = as_meant(cells.cells[at]).strip() if at < len(cells.cells) else ""
        try:
            values[field] = READ[field](text)
        except ValueError as error:
            errors.append(ListError(cells.line, at + 1, str(error)))
            return None
    if not values.get("code") and not values.get("name"):
        at = head.get("code", head.get("name", 0))
        errors.append(ListError(cells.line, at + 1, "Say which material: its number or its name."))
        return None
    columns = tuple((field, at + 1) for field, at in head.items())
    return PriceRow(line=cells.line, columns=columns, **({"code": "", "name": ""} | values))  # type: ignore[arg-type]


def _number(least: str, under: str, digits: int, *, above: bool = False) -> Callable[[str], Decimal | None]:
    def read(text: str) -> Decimal | None:
        if not text:
            return None
        try:
            value = Decimal(text)
        except InvalidOperation:
            hint = " Write it with a point: 12.50." if "," in text else ""
            raise ValueError(f"“{text[:30]}” is no number.{hint}") from None
        if not value.is_finite() or value < Decimal(least) or value >= Decimal(under):
            raise ValueError(f"{text[:30]} is not {least} to under {under}.")
        if above and value == Decimal(least):
            raise ValueError("It must be more than 0.")
        if value != value.quantize(Decimal(1).scaleb(-digits)):
            raise ValueError(f"{text[:30]} has more than {digits} digits after the point.")
        return value.quantize(Decimal(1).scaleb(-digits))

    return read


READ: dict[str, Callable[[str], object]] = {
    "code": text_of(40),
    "name": text_of(80),
    "unit": text_of(20),
    "pack": _number("0", "1000000", 3, above=True),
    "price": _number("0", "10000000", 2),
    "vat_percent": _number("0", "100", 2),
    "lead_days": whole_of(0, 365),
    "least_packs": whole_of(1, 10000),
}
