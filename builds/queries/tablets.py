"""Which paired tablet a request comes from."""

from __future__ import annotations

import hashlib

from django.http import HttpRequest

from builds.models import Tablet

COOKIE = "benchweek_tablet"


def hash_of(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def tablet_of(request: HttpRequest) -> Tablet | None:
    """The tablet that carries this request's token, unless it was withdrawn."""
    token = request.COOKIES.get(COOKIE, "")
    if not 20 <= len(token) <= 100:
        return None
    return Tablet.objects.filter(token_hash=hash_of(token), withdrawn_at=None).first()
