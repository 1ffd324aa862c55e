"""What every page's frame needs: the shop's name, the way around, whether the plan is current."""

from __future__ import annotations

import re
from dataclasses import dataclass

from django.http import HttpRequest
from django.urls import reverse

OWNER_NAV = (
    ("owner:week", "This week"),
    ("owner:wall", "Wall sheet"),
    ("owner:crew", "Crew sheet"),
    ("owner:build-list", "Builds"),
    ("owner:material", "Material"),
    ("owner:shop", "The shop"),
)


@dataclass(frozen=True)
class Shell:
    shop_name: str
    plan_is_stale: bool
    plan_tag: str
    nav: tuple[tuple[str, str, bool], ...]
    user_name: str


HERE = ("127.0.0.1", "localhost", "[::1]")
"""Browsers trust their own machine without https."""


def is_plain_http(request: HttpRequest) -> bool:
    """Whether the reader's browser keeps nothing without network: it does so by https only."""
    host = re.sub(r":\d+$", "", request.get_host())
    return not request.is_secure() and host not in HERE


def shell(request: HttpRequest) -> dict[str, object]:
    """Gives `shell` without a query of its own, or none on fragments and for the signed-out."""
    user = getattr(request, "user", None)
    signed_in = bool(user and user.is_authenticated)
    if getattr(request, "htmx", False) or not signed_in:
        return {"shell": None, "is_plain_http": is_plain_http(request)}
    shop = request.shop
    nav = tuple((reverse(name), label, _is_under(request.path, reverse(name))) for name, label in OWNER_NAV)
    found = Shell(shop.name, shop.plan_is_stale, shop.plan_tag, nav, str(user))
    return {"shell": found, "is_plain_http": is_plain_http(request)}


def _is_under(path: str, url: str) -> bool:
    return path == url if url == "/" else path.startswith(url)
