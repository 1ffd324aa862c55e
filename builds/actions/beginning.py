"""The first day: an empty Benchweek gets its owner, its hours and the trade's standard work."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, time

from django.utils.crypto import salted_hmac

from builds.actions.door import Refused, Stale, write
from builds.actions.library import load_standard_library
from builds.actions.people import add_person
from builds.actions.shop import change_shop, set_opening
from builds.models import OpeningSpan, Person, User

MORNING, AFTERNOON = (time(8), time(12)), (time(12, 30), time(16, 30))
USUAL_WEEK = {day: [MORNING, AFTERNOON] for day in range(5)}
"""Eight hours, Monday to Friday, to start from; common practice, no source."""


@dataclass(frozen=True, slots=True)
class FirstDay:
    """Who begins: the owner's sign-in, the shop's settings by name, the keys of trades the owner leads."""

    owner_name: str
    username: str
    password: str
    shop: Mapping[str, object]
    owner_trades: Iterable[str] = ()


def begin_token() -> str:
    """The secret part of the address where the first owner begins; it lasts while nobody can sign in."""
    return salted_hmac("benchweek.begin", "first owner", algorithm="sha256").hexdigest()[:40]


def may_begin(token: str) -> bool:
    """Whether `token` is the right one and nobody can sign in yet."""
    return secrets.compare_digest(token.encode(), begin_token().encode()) and not User.objects.exists()


def begin_shop(*, first: FirstDay, now: datetime) -> User:
    """Makes the owner, the shop's settings, its usual hours and the standard library, or nothing.

    Refused once somebody can sign in.
    """
    with write():
        if User.objects.exists():
            raise Stale("Somebody has begun already. Sign in.")
        given, _, family = first.owner_name.strip().partition(" ")
        if not given:
            raise Refused("Give your name.", field="owner_name")
        owner = User.objects.create_superuser(
            first.username, password=first.password, first_name=given, last_name=family.strip()
        )
        load_standard_library(now=now, by=owner)
        change_shop(first.shop, now=now, by=owner)
        if not OpeningSpan.objects.exists():
            set_opening(spans=USUAL_WEEK, now=now, by=owner)
        trades = ["owner", *(t for t in first.owner_trades if t != "owner")]
        if not Person.objects.exists():
            add_person(name=first.owner_name.strip(), trades=trades, user=owner, now=now, by=owner)
    return owner
