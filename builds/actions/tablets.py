"""Tablets on the floor: paired once with a code, known by a token from then on, withdrawn at once.

Neither the code nor the token is kept, only their prints. A withdrawn tablet that is paired again is the
same tablet: what still waits in its queue is then sent under its own name.
"""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta

from builds.actions.door import Gone, Refused, note_in_journal, write
from builds.models import Tablet, User
from builds.queries.tablets import hash_of

CODE_LETTERS = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
"""No letter that is read as another one."""
CODE_LENGTH = 8
CODE_LASTS = timedelta(minutes=15)
SEEN_EVERY = timedelta(minutes=10)


def add_tablet(*, name: str, now: datetime, by: User) -> tuple[Tablet, str]:
    """Makes a tablet with a pair code and gives both; the code can't be read again.

    A name that waits to be paired gets a new code, so that a second press leaves one tablet.
    """
    name = " ".join(name.replace("\x00", "").split())
    if not name:
        raise Refused("Give the tablet a name, like “Bench”.", field="name")
    if len(name) > 40:
        raise Refused("At most 40 letters, please.", field="name")
    with write(plan=False):
        tablet = Tablet.objects.filter(name__iexact=name).first()
        if tablet is not None and tablet.is_paired:
            raise Refused(f"There is a tablet “{tablet.name}” already. Choose another name.", field="name")
        if tablet is None:
            tablet = Tablet(name=name)
            note_in_journal(f"Added the tablet “{name}”", now=now, by=by)
        return tablet, _give_code(tablet, now)


def pair_again(*, tablet: Tablet, now: datetime, by: User) -> tuple[Tablet, str]:
    """Gives a new code for a tablet that was withdrawn or has forgotten its pairing."""
    with write(plan=False):
        tablet = _fresh(tablet)
        note_in_journal(f"Made a pair code for the tablet “{tablet.name}”", now=now, by=by)
        return tablet, _give_code(tablet, now)


def claim_tablet(*, code: str, now: datetime) -> tuple[Tablet, str]:
    """Pairs the device that knows the code; gives the tablet and its token, which is kept nowhere.

    A code works once. The token that the tablet had before is good no more.
    """
    typed = "".join(code.upper().split()).replace("-", "")
    with write(plan=False):
        tablet = Tablet.objects.filter(code_hash=hash_of(typed)).first() if typed else None
        if tablet is None:
            raise Refused(
                "That code is not good. Look at the owner's screen and type it again.", field="code"
            )
        if tablet.code_expires_at is None or tablet.code_expires_at <= now:
            raise Refused("That code has run out. The owner makes a new one.", field="code")
        token = secrets.token_urlsafe(32)
        tablet.token_hash, tablet.code_hash, tablet.code_expires_at = hash_of(token), "", None
        tablet.paired_at, tablet.withdrawn_at, tablet.last_seen_at = now, None, now
        tablet.save()
        note_in_journal(f"The tablet “{tablet.name}” was paired", now=now, by=None)
    return tablet, token


def withdraw_tablet(*, tablet: Tablet, now: datetime, by: User) -> Tablet:
    """Shuts a tablet out at once, its code too; a second withdrawal changes nothing."""
    with write(plan=False):
        fresh = _fresh(tablet)
        if fresh.withdrawn_at is None:
            fresh.withdrawn_at, fresh.token_hash = now, ""
            fresh.code_hash, fresh.code_expires_at = "", None
            fresh.save()
            note_in_journal(f"Withdrew the tablet “{fresh.name}”", now=now, by=by)
    return fresh


def note_seen(*, tablet: Tablet, now: datetime) -> None:
    """Remembers that a tablet was here, every ten minutes at most."""
    if tablet.last_seen_at is None or now - tablet.last_seen_at >= SEEN_EVERY:
        with write(plan=False):
            Tablet.objects.filter(pk=tablet.pk).update(last_seen_at=now)


def is_open_code(tablet: Tablet, code: str, now: datetime) -> bool:
    """Whether `code` would still pair `tablet`."""
    if not code or not tablet.code_hash or tablet.code_expires_at is None:
        return False
    return tablet.code_hash == hash_of(code) and tablet.code_expires_at > now


def _give_code(tablet: Tablet, now: datetime) -> str:
    code = "".join(secrets.choice(CODE_LETTERS) for _ in range(CODE_LENGTH))
    tablet.code_hash, tablet.code_expires_at = hash_of(code), now + CODE_LASTS
    tablet.save()
    return code


def _fresh(tablet: Tablet) -> Tablet:
    found = Tablet.objects.select_for_update().filter(pk=tablet.pk).first()
    if found is None:
        raise Gone("That tablet is not there any more.")
    return found
