"""Why a task can't start yet: the rules of the floor, in one place, for actions and screens alike."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta


@dataclass(frozen=True)
class Before:
    """A task that comes before, over one link. `wait_minutes` is clock time, stretched already."""

    link: int
    name: str
    state: str
    finished_at: datetime | None = None
    wait_minutes: int = 0
    dry_at: datetime | None = None
    check: str = ""
    check_state: str = ""


@dataclass(frozen=True)
class Hindrance:
    """One thing that keeps a task from starting. `until` is known for waits only."""

    code: str
    what: str
    until: datetime | None = None
    link: int | None = None


def wait_ends(before: Before) -> datetime | None:
    """When the wait after a finished task is over: a fitter's word goes before the figure."""
    if before.finished_at is None:
        return None
    if before.dry_at is not None:
        return max(before.dry_at, before.finished_at)
    return before.finished_at + timedelta(minutes=before.wait_minutes)


def hindrances(befores: Iterable[Before], at: datetime) -> tuple[Hindrance, ...]:
    """Lists what keeps a task from starting at `at`; empty when it may start.

    Codes: "check failed" and "check due" for the check of the task before, "before" for work not
    done, "wait" for one that is not over.
    """
    found = []
    for before in befores:
        hindrance = _hindrance(before, at)
        if hindrance is not None:
            found.append(hindrance)
    return tuple(found)


def _hindrance(before: Before, at: datetime) -> Hindrance | None:
    if before.check and before.check_state not in ("passed", "overruled"):
        code = "check failed" if before.check_state == "failed" else "check due"
        return Hindrance(code, before.check, link=before.link)
    if before.state != "done":
        return Hindrance("before", before.name, link=before.link)
    ends = wait_ends(before)
    if ends is not None and ends > at:
        return Hindrance("wait", before.name, until=ends, link=before.link)
    return None
