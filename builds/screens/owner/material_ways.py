"""The way around the pages of material, the same on each of them."""

from __future__ import annotations

from django.urls import reverse

WAYS = (
    ("owner:material", "?by=day", "To order, by day"),
    ("owner:material", "?by=supplier", "By supplier"),
    ("owner:order-list", "", "Orders"),
    ("owner:stock", "", "Stock"),
    ("owner:offcut-list", "", "Offcuts"),
    ("owner:material", "?by=all", "All that is needed"),
)

Way = tuple[str, str, bool]


def ways_of_material(current: str, more: str = "") -> list[Way]:
    """Gives (address, words, whether it is the page `current` with `more`) for each page of material."""
    return [(reverse(name) + query, words, (name, query) == (current, more)) for name, query, words in WAYS]
