"""Offcuts: kept with where they lie, measured again, moved, used, thrown out; each step stays on record."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from builds.actions.checked import fresh, put_fields
from builds.actions.door import Refused, check_version, note_in_journal, write
from builds.engines.material.offcuts import LeastSizes, is_worth_keeping
from builds.models import Build, Material, Offcut, OffcutEvent, Shop, User

OFFCUT_FORMS = ("sheet", "length")


def least_sizes(shop: Shop) -> LeastSizes:
    """What the shop keeps; smaller rests are thrown out."""
    return LeastSizes(shop.offcut_least_length_mm, shop.offcut_least_width_mm, shop.offcut_least_run_mm)


def keep_offcut(
    *,
    material: Material,
    length_mm: int,
    width_mm: int | None = None,
    lies: str = "",
    cut_for: Build | None = None,
    small_too: bool = False,
    token: UUID | None = None,
    now: datetime,
    by: User | None,
) -> Offcut:
    """Keeps a rest; refused where it is under the shop's least size (unless `small_too`) or larger than the
    material it is of. The same form twice keeps one."""
    with write(plan=False) as shop:
        known = Offcut.objects.filter(form_token=token).first() if token else None
        if known is not None:
            return known
        if not small_too and not is_worth_keeping(length_mm, width_mm, least_sizes(shop)):
            raise Refused(_too_small(shop, width_mm), field="length_mm")
        offcut = add_offcut(
            material=material,
            length_mm=length_mm,
            width_mm=width_mm,
            lies=lies,
            cut_for=cut_for,
            now=now,
            by=by,
        )
        if token:
            offcut.form_token = token
            offcut.save(update_fields=["form_token"])
        note_in_journal(f"Kept an offcut: {offcut}", now=now, by=by, build=cut_for)
    return offcut


def add_offcut(
    *,
    material: Material,
    length_mm: int,
    width_mm: int | None,
    lies: str = "",
    cut_for: Build | None = None,
    now: datetime,
    by: User | None,
) -> Offcut:
    """Adds an offcut with its first event, whatever its size. Call inside a write."""
    if material.form not in OFFCUT_FORMS:
        raise Refused(f"{material.name} leaves no offcuts: only sheets and lengths do.", field="material")
    if (width_mm is None) != (material.form == "length"):
        words = "A length has no width." if width_mm else "A sheet’s offcut needs a width."
        raise Refused(words, field="width_mm")
    offcut = Offcut(material=material, cut_for=cut_for, kept_at=now)
    _put_sizes(offcut, length_mm, width_mm, lies)
    offcut.save()
    _note(offcut, "kept", build=cut_for, now=now, by=by)
    return offcut


def correct_offcut(
    *,
    offcut: Offcut,
    length_mm: int,
    width_mm: int | None = None,
    lies: str,
    why: str = "",
    version: int | None = None,
    now: datetime,
    by: User | None,
) -> Offcut:
    """Writes what it measures and where it lies now; what was written before stays on record."""
    with write(plan=False):
        row = _there(offcut, version)
        before = (row.length_mm, row.width_mm)
        if (width_mm is None) != (row.width_mm is None):
            raise Refused("Give the length and the width.", field="width_mm")
        place = row.lies
        _put_sizes(row, length_mm, width_mm, lies)
        kind = "measured" if before != (row.length_mm, row.width_mm) else "moved"
        if kind == "measured" or row.lies != place:
            _save(row)
            _note(row, kind, why=why, now=now, by=by)
    return row


def use_offcut(
    *, offcut: Offcut, build: Build | None, version: int | None = None, now: datetime, by: User | None
) -> Offcut:
    """Says that it went into `build`; it is not offered any more."""
    with write(plan=False):
        row = _there(offcut, version)
        take_offcut(row, build=build, now=now, by=by)
        note_in_journal(f"Used an offcut: {row}", now=now, by=by, build=build)
    return row


def take_offcut(row: Offcut, *, build: Build | None, now: datetime, by: User | None) -> None:
    """Marks an offcut that is there as used. Call inside a write; refused when it is gone by then."""
    if row.state != "there":
        raise Refused(f"{row} is not there any more: somebody used it or threw it out.")
    row.state, row.used_for = "used", build
    _save(row)
    _note(row, "used", build=build, now=now, by=by)


def throw_out_offcut(
    *, offcut: Offcut, why: str = "", version: int | None = None, now: datetime, by: User | None
) -> Offcut:
    """Says that it is thrown out."""
    with write(plan=False):
        row = _there(offcut, version)
        row.state = "gone"
        _save(row)
        _note(row, "gone", why=why, now=now, by=by)
        note_in_journal(f"Threw out an offcut: {row}", now=now, by=by)
    return row


def bring_back_offcut(
    *, offcut: Offcut, why: str = "", version: int | None = None, now: datetime, by: User | None
) -> Offcut:
    """Says that it is there after all."""
    with write(plan=False):
        row = _now(offcut, version)
        if row.state != "there":
            row.state, row.used_for = "there", None
            _save(row)
            _note(row, "back", why=why, now=now, by=by)
            note_in_journal(f"An offcut is there again: {row}", now=now, by=by)
    return row


def _too_small(shop: Shop, width_mm: int | None) -> str:
    least = least_sizes(shop)
    if width_mm is None:
        return f"The shop keeps lengths from {least.run_mm} mm on. Tick “keep it anyway” to keep this one."
    return (
        f"The shop keeps rests from {least.length_mm} x {least.width_mm} mm on. "
        "Tick “keep it anyway” to keep this one."
    )


def _put_sizes(offcut: Offcut, length_mm: int, width_mm: int | None, lies: str) -> None:
    fields = {"length_mm": length_mm, "width_mm": width_mm, "lies": lies}
    put_fields(offcut, fields, fields)
    for field in ("length_mm", "width_mm"):
        most, size = getattr(offcut.material, field), getattr(offcut, field)
        if most and size and size > most:
            raise Refused(f"That is more than {offcut.material.name} has: {most} mm.", field=field)


def _there(offcut: Offcut, version: int | None) -> Offcut:
    row = _now(offcut, version)
    if row.state != "there":
        raise Refused("It is not there any more: somebody used it or threw it out.")
    return row


def _now(offcut: Offcut, version: int | None) -> Offcut:
    row = fresh(Offcut, offcut)
    check_version(row, version)
    return row


def _save(row: Offcut) -> None:
    row.version += 1
    row.save()


def _note(
    row: Offcut, kind: str, *, why: str = "", build: Build | None = None, now: datetime, by: User | None
) -> None:
    OffcutEvent.objects.create(
        offcut=row,
        kind=kind,
        length_mm=row.length_mm,
        width_mm=row.width_mm,
        lies=row.lies,
        why=why.strip()[:200],
        build=build,
        at=now,
        by=by,
    )
