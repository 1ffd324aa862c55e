"""The one door for writes: one transaction an action, the shop's row taken first.

SQLite begins every write as IMMEDIATE, PostgreSQL locks the shop's row, so on both databases one
write follows another and each sees what the one before left.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import transaction
from django.db.models import F

from builds.models import Build, Journal, Shop, User


class Refused(Exception):
    """An action that can't be done, with words for the person and the field they belong to.

    `status` is 409 where somebody else was faster, 422 where the input can't be.
    """

    status = 422

    def __init__(self, words: str, *, field: str | None = None) -> None:
        super().__init__(words)
        self.words = words
        self.field = field


class Stale(Refused):
    """The record changed since the page was made."""

    status = 409


class Gone(Refused):
    """The record is not there any more."""

    status = 404


@contextmanager
def write(*, plan: bool = True) -> Iterator[Shop]:
    """Opens the write transaction and gives the shop's row, locked.

    With `plan`, the shop's revision rises and a new plan is asked for once the write is in.
    """
    with transaction.atomic():
        shop = Shop.objects.select_for_update().get_or_create(pk=1)[0]
        yield shop
        if plan:
            Shop.objects.filter(pk=1).update(revision=F("revision") + 1)
            transaction.on_commit(_ask_for_plan)


def _ask_for_plan() -> None:
    from builds.actions.planning import ask_for_plan

    ask_for_plan()


def check_version(record, version: int | None) -> None:
    """Refuses when `record` changed since the form with `version` was made (None: not asked)."""
    if version is not None and record.version != version:
        raise Stale(
            f"“{record}” was changed by somebody else in the meantime. Look at it as it is now and try again."
        )


def note_in_journal(what: str, *, now, by: User | None, build: Build | None = None) -> None:
    Journal.objects.create(what=what[:300], at=now, by=by, build=build)
