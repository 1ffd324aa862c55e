"""Which tablets are paired, and which one a request comes from."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime

from django.http import HttpRequest

from builds.models import Tablet

COOKIE = "benchweek_tablet"


@dataclass(frozen=True)
class TabletLine:
    """One tablet on the owner's list. `state` is "paired", "waits" for its code, or "withdrawn"."""

    pk: int
    name: str
    state: str
    paired_at: datetime | None
    last_seen_at: datetime | None


def hash_of(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def tablet_of(request: HttpRequest) -> Tablet | None:
    """The tablet that carries this request's token, unless it was withdrawn."""
    token = request.COOKIES.get(COOKIE, "")
    if not 20 <= len(token) <= 100:
        return None
    return Tablet.objects.filter(token_hash=hash_of(token), withdrawn_at=None).first()


def tablet_lines() -> tuple[TabletLine, ...]:
    """Every tablet there ever was, those in use first; one query."""
    lines = [
        TabletLine(t.pk, t.name, _state(t), t.paired_at, t.last_seen_at)
        for t in Tablet.objects.order_by("name")
    ]
    return tuple(sorted(lines, key=lambda line: line.state == "withdrawn"))


def _state(tablet: Tablet) -> str:
    if tablet.is_paired:
        return "paired"
    return "withdrawn" if tablet.withdrawn_at else "waits"
