"""An order as a file for the supplier's own programs."""

from __future__ import annotations

from builds.exchange.csv_files import csv_text
from builds.queries.orders import OrderPage

HEAD = (
    "order",
    "line",
    "their number",
    "material",
    "packs",
    "a pack holds",
    "price of a pack",
    "net",
    "VAT %",
)
HEAD_OF_CUSTOMER = ("order", "line", "material", "how much")


def order_csv(order: OrderPage) -> str:
    """The lines of an order as CSV; what a customer brings has no price."""
    if order.from_customer:
        rows = [(order.number, n, line.name, line.words) for n, line in enumerate(order.lines, 1)]
        return csv_text([HEAD_OF_CUSTOMER, *rows])
    rows = [
        (
            order.number,
            n,
            line.code,
            line.name,
            line.packs,
            line.pack.removeprefix("of ") or "1",
            line.price,
            line.money.net,
            f"{line.vat_percent.normalize():f}",
        )
        for n, line in enumerate(order.lines, 1)
    ]
    return csv_text([HEAD, *rows])
