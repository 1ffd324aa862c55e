"""The customer's private link: made, shown once, withdrawn for good."""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta

from builds.actions.door import note_in_journal, write
from builds.models import Build, CustomerLink, User
from builds.queries.tablets import hash_of


def make_customer_link(*, build: Build, now: datetime, by: User) -> tuple[CustomerLink, str]:
    """Makes a new link and gives it with its token, which is kept nowhere and can't be shown again.

    Earlier links of the build go on working until they are withdrawn.
    """
    token = secrets.token_urlsafe(32)
    with write(plan=False):
        link = CustomerLink.objects.create(build=build, token_hash=hash_of(token), made_at=now)
        note_in_journal("Made a private link for the customer", now=now, by=by, build=build)
    return link, token


def withdraw_customer_link(*, link: CustomerLink, now: datetime, by: User) -> None:
    """Closes the link at once; a second withdrawal changes nothing."""
    with write(plan=False):
        fresh = CustomerLink.objects.select_for_update().get(pk=link.pk)
        if fresh.withdrawn_at is None:
            fresh.withdrawn_at = now
            fresh.save(update_fields=["withdrawn_at"])
            note_in_journal("Withdrew a private link of the customer", now=now, by=by, build=fresh.build)


def note_opened(*, link: CustomerLink, now: datetime) -> None:
    """Remembers that the link was opened, once an hour at most."""
    if link.last_opened_at and now - link.last_opened_at < timedelta(hours=1):
        return
    with write(plan=False):
        CustomerLink.objects.filter(pk=link.pk).update(last_opened_at=now)
