"""An order as the paper that goes to the supplier or the customer."""

from __future__ import annotations

from datetime import date, datetime

from builds.models import Order, Shop
from builds.queries.orders import order_page
from builds.reports.render import render


def order_paper(order: Order, now: datetime, *, shop: Shop, sent_on: date | None = None) -> tuple[str, bytes]:
    """The order as HTML and PDF; `sent_on` is the day on it where it is about to be sent."""
    if sent_on is not None:
        order.sent_on = sent_on
    return render("reports/order.html", order_page(order, now, shop=shop))
