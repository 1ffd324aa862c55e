"""What if: a copy of the shop to try changes on, dropped without a trace or kept by the real actions.

A copy is a list of changes beside the shop, never a second set of rows: nothing but its own row is
written until it is kept.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from builds.actions.door import Refused, Stale, note_in_journal, write
from builds.actions.what_if_keep import carry_out
from builds.models import PlanState, Shop, User, WhatIf
from builds.queries.opening import opening_times
from builds.queries.what_if_clashes import Change, grounds_of
from builds.queries.what_if_shop import days_of, result_of

MOST_CHANGES = 12


def open_copy() -> WhatIf | None:
    """The copy that is open, if one is."""
    return WhatIf.objects.filter(is_open=True).first()


def try_change(*, change: Change, now: datetime) -> WhatIf:
    """Adds a change to the open copy, or begins one with it, and works out what comes of it.

    The same change twice is one; another one about the same thing takes its place. Refused when what it
    is about is gone, or the copy is full.
    """
    found = open_copy()
    (grounds,) = grounds_of([change])
    if grounds is None:
        raise Stale("That changed this very moment. Choose again.")
    change = {**change, "grounds": grounds}
    changes = list(found.changes) if found else []
    if found and change in changes:
        return found
    changes = [c for c in changes if _about(c) != _about(change)]
    if len(changes) >= MOST_CHANGES:
        raise Refused(f"A copy holds at most {MOST_CHANGES} changes. Leave one out first.")
    if found is None:
        found = WhatIf(began_at=now)
    return _put(found, [*changes, change], now)


def leave_out(*, change: int, mark: str, now: datetime) -> WhatIf | None:
    """Leaves the change at a place in the list out again; the last one left out ends the copy."""
    found = _open(mark)
    if not 0 <= change < len(found.changes):
        raise Stale("That change is not in the copy any more.")
    left = [c for place, c in enumerate(found.changes) if place != change]
    if not left:
        drop_copy(mark=mark, now=now)
        return None
    return _put(found, left, now)


def bring_up_to_date(*, shop: Shop, now: datetime) -> WhatIf | None:
    """The open copy, worked out for the shop as it is now; nothing else is written."""
    found = open_copy()
    if found is None or found.worked_out_of == shop.revision:
        return found
    _keep_result(found, result_of(found.changes, now, shop=shop), shop.revision)
    return open_copy()


def drop_copy(*, mark: str, now: datetime) -> None:
    """Ends the copy; the shop stays as it is. Dropping twice is dropping once."""
    with write(plan=False):
        if not _is_over(mark, was_kept=False):
            found = _open(mark)
            found.is_open, found.ended_at = None, now
            found.save(update_fields=["is_open", "ended_at"])


def keep_copy(*, mark: str, now: datetime, by: User | None) -> int:
    """Carries all changes out for real, in one go or not at all; gives how many there were.

    The plan then follows the copy's order. Keeping twice is keeping once. Refused, with the change's own
    words, where the shop has moved away from one of them or its action can't be done, and where the work
    has gone on so that other days would come of it than the owner saw.
    """
    if _is_over(mark, was_kept=True):
        return 0
    found, shop = _open(mark), Shop.objects.get(pk=1)
    result = _as_seen(found, mark, shop, now)
    for place, why in result["clashes"].items():
        raise Refused(f"{found.changes[int(place)]['words']}: {why}. Leave it out, or try it again.")
    with write() as locked:
        if _is_over(mark, was_kept=True):
            return 0
        found = _open(mark)
        if locked.revision != shop.revision:
            raise Stale("The shop’s work changed this very moment. Look at it and keep it again.")
        crews = PlanState.objects.filter(pk=1).values_list("crews", flat=True).first() or {}
        for change in found.changes:
            try:
                carry_out(change, now=now, by=by)
            except Refused as error:
                raise Refused(f"{change['words']}: {error.words}") from error
        PlanState.objects.filter(pk=1).update(order=result["order"], crews=crews)
        found.is_open, found.ended_at, found.was_kept = None, now, True
        found.save(update_fields=["is_open", "ended_at", "was_kept"])
        note_in_journal(
            f"Kept what was tried: {'; '.join(c['words'] for c in found.changes)}", now=now, by=by
        )
    return len(found.changes)


def _about(change: Change) -> tuple:
    """What there can be one change of in a copy; several people may be away at several times."""
    for name in ("delivery", "order", "task", "place"):
        if name in change:
            return name, change[name]
    if change["kind"] in ("longer", "taken in"):
        return change["kind"], change.get("person"), change.get("build")
    return change["kind"], change.get("person"), change["first"], change["last"]


def _as_seen(found: WhatIf, mark: str, shop: Shop, now: datetime) -> dict[str, Any]:
    """The result to keep: what the owner saw, or one of the shop as it is now with the same days."""
    if found.worked_out_of == shop.revision and found.mark == mark:
        return found.result
    result = result_of(found.changes, now, shop=shop)
    times = opening_times(shop)
    as_before = days_of(result, times) == days_of(found.result, times)
    _keep_result(found, result, shop.revision)
    if found.mark != mark or not as_before:
        raise Stale(
            "The work has gone on since you looked. Look at the days as they are now and keep it again."
        )
    return result


def _keep_result(found: WhatIf, result: dict[str, Any], revision: int) -> None:
    """Stores a result worked out anew, unless the copy changed meanwhile."""
    with write(plan=False):
        WhatIf.objects.filter(pk=found.pk, is_open=True, version=found.version).update(
            result=result, worked_out_of=revision
        )


def _put(found: WhatIf, changes: list[Change], now: datetime) -> WhatIf:
    """Stores the changes and their result; worked out before the write, so that nobody waits for it."""
    shop = Shop.objects.get(pk=1)
    result = result_of(changes, now, shop=shop)
    with write(plan=False):
        begun = open_copy()
        if begun is not None and begun.changes == changes:
            return begun
        if found.pk:
            found = _open(found.mark)
            found.version += 1
        elif begun is not None:
            raise Stale("A copy was begun in the meantime. Look at it first.")
        found.changes, found.result, found.worked_out_of = changes, result, shop.revision
        found.save()
    return found


def _open(mark: str) -> WhatIf:
    """The open copy if it is the one of the mark, with the same changes."""
    found = open_copy()
    copy, version, _ = _parts(mark)
    if found is None or found.pk != copy:
        raise Stale("That copy was kept or dropped in the meantime.")
    if found.version != version:
        raise Stale("The copy was changed in the meantime. Look at it as it is now.")
    return found


def _is_over(mark: str, *, was_kept: bool) -> bool:
    """Whether the copy of the mark was ended in this very way already, with the changes of the mark."""
    copy, version, _ = _parts(mark)
    return WhatIf.objects.filter(pk=copy, version=version, is_open=None, was_kept=was_kept).exists()


def _parts(mark: str) -> tuple[int, int, int]:
    """Copy, version and revision of a mark; all nought for what is none."""
    parts = mark.split("-")
    if len(parts) != 3 or not all(p.isascii() and p.isdecimal() and len(p) < 10 for p in parts):
        return 0, 0, 0
    copy, version, revision = (int(p) for p in parts)
    return copy, version, revision
