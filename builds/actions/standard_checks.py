"""The shop's hold points: those of the trade, and more that the owner defines; put on a task of a build.

Builds that exist keep their checks as they were copied. Gas, mains and seats can be made stricter, never
looser: they are never overruled, keep their licensed trade, their certificate and their photo.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.utils.text import slugify

from builds.actions.checked import check_edition, free_key, fresh, next_order
from builds.actions.composing import hold_point_of
from builds.actions.door import Refused, note_in_journal, write
from builds.actions.floor_events import fresh_task
from builds.engines.floor.judging import WORKED_OUT
from builds.models import Caution, HoldPoint, StandardHoldPoint, Task, Trade, User

Reading = Mapping[str, Any]

OWN = "the shop's own"
MOST_FIELDS = 20
TYPED = ("number", "yes", "text")
"""Kinds of reading that the owner defines; choices and what is worked out come with the standard ones."""


def add_check(*, fields: Mapping[str, Any], now: datetime, by: User | None) -> StandardHoldPoint:
    """Defines a hold point of the shop's own; `fields` as in `change_check`."""
    with write(plan=False):
        key = free_key(StandardHoldPoint, str(fields.get("name", "")))[:30]
        row = StandardHoldPoint(key=key, order=next_order(StandardHoldPoint), basis=OWN)
        _put(row, fields)
        note_in_journal(f"Added the hold point “{row.name}”", now=now, by=by)
        return row


def change_check(
    *,
    check: StandardHoldPoint,
    fields: Mapping[str, Any],
    seen: str | None = None,
    now: datetime,
    by: User | None,
) -> StandardHoldPoint:
    """Changes what new builds are asked at this hold point.

    `fields`: name, licensed_trade, may_overrule, certificate_due, photo_wanted, caution, and `readings`, a
    list of {key, label, kind, unit, least, most, wanted, basis, must}; what is worked out from others stays.
    """
    with write(plan=False):
        row = fresh(StandardHoldPoint, check)
        check_edition(row.name, seen, row)
        _refuse_looser(row, fields)
        _put(row, fields)
        note_in_journal(f"Changed the hold point “{row.name}”", now=now, by=by)
        return row


def put_check_on(*, task: Task, check: StandardHoldPoint, now: datetime, by: User) -> HoldPoint:
    """Makes a task of a build end with a hold point: its followers wait for the pass from now on."""
    with write():
        task = fresh_task(task)
        standard = fresh(StandardHoldPoint, check)
        if task.removed_at is not None:
            raise Refused(f"“{task.name}” was taken out of the plan.")
        if hasattr(task, "hold_point"):
            raise Refused(f"“{task.name}” ends with “{task.hold_point.name}” already.", field="check")
        if task.state == "done":
            raise Refused(f"“{task.name}” is done. Open it again first.", field="check")
        row = hold_point_of(task, standard, task.build)
        row.save()
        note_in_journal(f"“{task.name}” now ends with “{row.name}”", now=now, by=by, build=task.build)
        return row


def _refuse_looser(row: StandardHoldPoint, fields: Mapping[str, Any]) -> None:
    if row.may_overrule:
        return
    loosened = (
        fields.get("may_overrule", False)
        or fields.get("licensed_trade", row.licensed_trade) != row.licensed_trade
        or (row.certificate_due and not fields.get("certificate_due", True))
        or (row.photo_wanted and not fields.get("photo_wanted", True))
    )
    if loosened:
        raise Refused(
            f"“{row.name}” is never overruled, and keeps its licensed trade, its certificate and its photo. "
            "It can only be made stricter."
        )


def _put(row: StandardHoldPoint, fields: Mapping[str, Any]) -> None:
    name = str(fields.get("name", row.name)).strip()
    if not name:
        raise Refused("A hold point needs a name.", field="name")
    same = StandardHoldPoint.objects.filter(name__iexact=name).exclude(pk=row.pk)
    if same.exists():
        raise Refused("There is a hold point of that name.", field="name")
    row.name = name[:80]
    for flag in ("may_overrule", "certificate_due", "photo_wanted"):
        setattr(row, flag, bool(fields.get(flag, getattr(row, flag))))
    row.licensed_trade = _known(
        Trade, str(fields.get("licensed_trade", row.licensed_trade)), "licensed_trade"
    )
    row.caution = _known(Caution, str(fields.get("caution", row.caution)), "caution")
    if row.licensed_trade:
        row.may_overrule = False
    if "readings" in fields:
        row.fields = _readings(row.fields, fields["readings"])
    row.save()


def _known(model, key: str, field: str) -> str:
    if key and not model.objects.filter(key=key).exists():
        raise Refused("Choose one of the list.", field=field)
    return key


def _readings(
    before: Sequence[Mapping[str, Any]], given: Sequence[Mapping[str, Any]]
) -> list[dict[str, Any]]:
    """The fields as they are kept: those typed, in their order, then what is worked out or chosen."""
    old = {str(f["key"]): f for f in before}
    found: list[dict[str, Any]] = []
    for number, row in enumerate(given):
        found.append(_reading(row, old.get(str(row.get("key") or ""), {}), number, {f["key"] for f in found}))
    kept = [dict(f) for f in before if f.get("kind") not in TYPED]
    known = {f["key"] for f in [*found, *kept]}
    for field in kept:
        lost = [key for key in field.get("of", ()) if key not in known]
        if lost and field.get("kind") in WORKED_OUT:
            label = old[lost[0]]["label"]
            raise Refused(f"“{field['label']}” is worked out from “{label}”, so that reading stays.")
    if len(found) + len(kept) > MOST_FIELDS:
        raise Refused(f"A hold point asks for at most {MOST_FIELDS} readings.")
    return [*found, *kept]


def _reading(row: Reading, old: Reading, number: int, taken: set[str]) -> dict[str, Any]:
    label = str(row.get("label") or "").strip()[:80]
    kind = str(row.get("kind") or "number")
    at = f"reading{number}_label"
    if not label:
        raise Refused("A reading needs a label.", field=at)
    if kind not in TYPED:
        raise Refused("Choose one of the list.", field=f"reading{number}_kind")
    key = str(old.get("key") or _free_key(label, taken))
    if key in taken:
        raise Refused("There are two readings of that name.", field=at)
    kept: dict[str, Any] = {"key": key, "label": label, "kind": kind}
    basis = str(row.get("basis") or "").strip()[:200]
    if "must" in old:
        kept["must"] = old["must"]
    if kind == "yes":
        kept["wanted"] = bool(row.get("wanted", True))
    if kind == "number":
        kept["unit"] = str(row.get("unit") or "").strip()[:12]
        kept |= _limits(row, number)
        if old.get("most_of_build"):
            kept["most_of_build"] = old["most_of_build"]
    has_limit = kind == "yes" or "least" in kept or "most" in kept
    if has_limit and not basis:
        raise Refused(
            "Say where the limit is from, or “common practice, no source”.", field=f"reading{number}_basis"
        )
    return kept | ({"basis": basis} if basis else {})


def _limits(row: Mapping[str, Any], number: int) -> dict[str, float]:
    limits = {}
    for name in ("least", "most"):
        value = row.get(name)
        if value is not None:
            limits[name] = _plain(value)
    if len(limits) == 2 and limits["least"] > limits["most"]:
        raise Refused("The least is more than the most.", field=f"reading{number}_most")
    return limits


def _plain(value: Decimal | float) -> float | int:
    return int(value) if value == int(value) else float(value)


def _free_key(label: str, taken: set[str]) -> str:
    stem = slugify(label).replace("-", "_")[:24] or "reading"
    key, n = stem, 2
    while key in taken:
        key, n = f"{stem}_{n}", n + 1
    return key
