"""The way around the shop's pages, the same on each of them."""

from __future__ import annotations

from django.urls import reverse

WAYS = (
    ("owner:shop", "Settings"),
    ("owner:shop-opening", "Opening hours"),
    ("owner:shop-days", "Closed days"),
    ("owner:person-list", "People"),
    ("owner:place-list", "Places"),
    ("owner:supplier-list", "Suppliers"),
    ("owner:tablet-list", "Tablets"),
    ("owner:shop-materials", "Materials"),
    ("owner:standard-list", "Library"),
    ("owner:delivery-list", "Deliveries"),
    ("owner:decision-list", "Decisions"),
    ("owner:shop-journal", "Journal"),
)

Way = tuple[str, str, bool]


def ways_of_shop(current: str) -> list[Way]:
    """Gives (address, words, whether it is `current`) for each page of the shop."""
    return [(reverse(name), words, name == current) for name, words in WAYS]
