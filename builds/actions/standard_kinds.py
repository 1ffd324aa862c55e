"""The kinds of unit and of installation that a new build is picked from.

A build copied what it used when it was made, so nothing here changes a build that exists.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from builds.actions.checked import check_edition, free_key, fresh, next_order, put_fields
from builds.actions.door import Refused, note_in_journal, write
from builds.actions.withdrawing import set_withdrawn
from builds.models import InstallationKind, UnitKind, User

UNIT_FIELDS = ("name", "width_mm", "depth_mm", "height_mm", "work", "board", "about")
INSTALLATION_FIELDS = ("name", "usual", "usual_count", "about")

OWN = "the shop's own"
SMALLEST_MM, LARGEST_MM = 20, 6000


def add_unit_kind(*, fields: Mapping[str, object], made_as: str, now: datetime, by: User | None) -> UnitKind:
    """Adds a kind of unit; it gets the tasks of what is made in the same way (`made_as`).

    `fields` as in UNIT_FIELDS. A build may make it from a third to three times its usual size.
    """
    with write(plan=False):
        if not UnitKind.objects.filter(made_as=made_as).exists():
            raise Refused("Nothing is made in that way.", field="made_as")
        name = str(fields.get("name", ""))
        row = UnitKind(
            key=_free_kind_key(UnitKind, InstallationKind, name),
            made_as=made_as,
            basis=OWN,
            order=next_order(UnitKind),
        )
        put_fields(row, fields, UNIT_FIELDS)
        sizes = (row.width_mm, row.depth_mm, row.height_mm)
        row.least_mm = [max(SMALLEST_MM, size // 3) for size in sizes]
        row.most_mm = [min(LARGEST_MM, size * 3) for size in sizes]
        _check_unit_kind(row)
        row.save()
        note_in_journal(f"Added the standard unit {row.name}", now=now, by=by)
    return row


def add_installation_kind(
    *, fields: Mapping[str, object], now: datetime, by: User | None
) -> InstallationKind:
    """Adds a kind of installation, without tasks yet: add them with the scope "installation:<key>"."""
    with write(plan=False):
        name = str(fields.get("name", ""))
        row = InstallationKind(
            key=_free_kind_key(InstallationKind, UnitKind, name),
            basis=OWN,
            order=next_order(InstallationKind),
        )
        put_fields(row, fields, INSTALLATION_FIELDS)
        _check_installation_kind(row)
        row.save()
        note_in_journal(f"Added the standard installation {row.name}", now=now, by=by)
    return row


def change_unit_kind(
    *, kind: UnitKind, fields: Mapping[str, object], now: datetime, by: User | None, seen: str | None = None
) -> UnitKind:
    """Changes a kind of unit's fields by name (see UNIT_FIELDS); sizes stay within its least and most."""
    with write(plan=False):
        row = fresh(UnitKind, kind)
        check_edition(row.name, seen, row)
        put_fields(row, fields, UNIT_FIELDS)
        _check_unit_kind(row)
        row.save()
        note_in_journal(f"Changed the standard unit {row.name}", now=now, by=by)
    return row


def _check_unit_kind(row: UnitKind) -> None:
    if not row.name:
        raise Refused("A unit needs a name.", field="name")
    if UnitKind.objects.filter(name__iexact=row.name).exclude(pk=row.pk).exists():
        raise Refused("There is a standard unit of that name.", field="name")
    if not 0 < row.work <= 10:
        raise Refused("The work is more than 0 and at most 10 times a plain carcass.", field="work")
    for at, field in enumerate(("width_mm", "depth_mm", "height_mm")):
        least = row.least_mm[at] if row.least_mm else SMALLEST_MM
        most = row.most_mm[at] if row.most_mm else LARGEST_MM
        if not least <= getattr(row, field) <= most:
            raise Refused(f"It is made between {least} and {most} mm.", field=field)


def change_installation_kind(
    *,
    kind: InstallationKind,
    fields: Mapping[str, object],
    now: datetime,
    by: User | None,
    seen: str | None = None,
) -> InstallationKind:
    """Changes a kind of installation's fields by name (see INSTALLATION_FIELDS)."""
    with write(plan=False):
        row = fresh(InstallationKind, kind)
        check_edition(row.name, seen, row)
        put_fields(row, fields, INSTALLATION_FIELDS)
        _check_installation_kind(row)
        row.save()
        note_in_journal(f"Changed the standard installation {row.name}", now=now, by=by)
    return row


def _check_installation_kind(row: InstallationKind) -> None:
    if not row.name:
        raise Refused("An installation needs a name.", field="name")
    if InstallationKind.objects.filter(name__iexact=row.name).exclude(pk=row.pk).exists():
        raise Refused("There is a standard installation of that name.", field="name")
    if not 1 <= row.usual_count <= 50:
        raise Refused("How many there usually are is 1 to 50.", field="usual_count")


def withdraw_kind(
    *, kind: UnitKind | InstallationKind, withdrawn: bool = True, now: datetime, by: User | None
) -> UnitKind | InstallationKind:
    """Leaves a kind out of the lists to pick from, or brings it back; builds that have it keep it."""
    with write(plan=False):
        row = fresh(type(kind), kind)
        noun = "standard unit" if isinstance(kind, UnitKind) else "standard installation"
        set_withdrawn(row, withdrawn, noun, now=now, by=by)
    return row


def _free_kind_key(model, other, name: str) -> str:
    """A free key that the other sort of kind does not have either: some tasks name both in one list."""
    key = free_key(model, name)
    return key if not other.objects.filter(key=key).exists() else free_key(model, f"{name} of our own")
