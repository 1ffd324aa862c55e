"""Which tablets are paired, and which one a request comes from."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q
from django.http import HttpRequest

from builds.models import FloorEvent, Tablet

COOKIE = "benchweek_tablet"


@dataclass(frozen=True)
class TabletLine:
    """One tablet on the owner's list. `state` is "paired", "waits" for its code, or "withdrawn"."""

    pk: int
    name: str
    state: str
    paired_at: datetime | None
    last_seen_at: datetime | None


@dataclass(frozen=True)
class Disagreement:
    """Something from the floor that does not agree with what was there, in one line."""

    who: str
    van: str
    what: str
    words: str
    at: datetime


def disagreements() -> tuple[Disagreement, ...]:
    """What came from the floor and was kept for the owner to settle, or refused late; newest first."""
    settle, late = Q(outcome="to settle"), Q(outcome="refused", device_at__isnull=False)
    rows = FloorEvent.objects.filter(settle | late).select_related("person", "build", "task").order_by("-pk")
    return tuple(
        Disagreement(
            who=str(row.person or row.user or "Somebody"),
            van=row.build.name if row.build else "",
            what=f"{row.verb}: {row.task.name}" if row.task else row.verb,
            words=row.answer,
            at=row.happened_at,
        )
        for row in rows[:20]
    )


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
