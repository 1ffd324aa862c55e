"""Parts of units: derived from sizes and choices, and changed by hand; what is changed by hand stays."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from uuid import UUID

from builds.actions.door import Gone, Refused, check_version, note_in_journal, write
from builds.actions.making import SIZES, derive_or_refuse, making_of, put_making
from builds.actions.needs import reckon
from builds.actions.part_fields import put_part
from builds.engines.joinery.errors import JoineryError
from builds.engines.joinery.pieces import PartMade
from builds.engines.joinery.unit import Derived
from builds.models import Build, Making, Part, Unit, UnitKind, User
from builds.queries.joinery import Boards, derived_or_why, fronts_elsewhere, kinds_by_key, usual_making

BY_HAND_FROM = 1000
MOST_PARTS = 2000


def derive_parts(*, unit: Unit, now: datetime, by: User | None) -> int:
    """Works the parts out anew from the unit's sizes and choices; gives how many derived parts stand.

    What the owner changed, added or removed stays so. Refused, with the reason, where it can't be made.
    """
    with write(plan=False):
        row = fresh_unit(unit)
        found = derive_or_refuse(row, making_of(row))
        count = store(row, found, Boards.read())
        reckon(row.build)
        note_in_journal(f"Worked out the parts of {row.name}: {count}", now=now, by=by, build=row.build)
        return count


def change_making(
    *,
    unit: Unit,
    sizes: Mapping[str, int],
    choices: Mapping[str, object],
    version: int | None,
    now: datetime,
    by: User | None,
) -> int:
    """Puts outer sizes (SIZES) and choices (MAKING_FIELDS) to a unit and works its parts out anew.

    All or nothing: where the new sizes can't work nothing changes. The hours of its tasks stay as they are.
    """
    with write(plan=False):
        row = fresh_unit(unit)
        making = making_of(row)
        check_version(making, version)
        found = put_making(row, making, sizes, choices)
        row.save(update_fields=list(SIZES))
        making.version += 1
        making.save()
        count = store(row, found, Boards.read())
        reckon(row.build)
        note_in_journal(f"Changed how {row.name} is made: {count} parts", now=now, by=by, build=row.build)
        return count


def derive_new(build: Build, units: Iterable[Unit]) -> None:
    """Gives units just added their usual choices and parts. Call inside a write.

    One that can't be made of its usual boards at its sizes stays without parts; its page says why.
    """
    boards, kinds = Boards.read(), kinds_by_key()
    elsewhere = fronts_elsewhere(build, kinds)
    for unit in units:
        kind = kinds.get(unit.kind)
        if kind is None:
            continue
        making = usual_making(unit, kind, boards, fronts_elsewhere=elsewhere)
        making.save()
        found = derived_or_why(unit, making, kind, boards)
        if isinstance(found, Derived):
            store(unit, found, boards)


def store(unit: Unit, derived: Derived, boards: Boards) -> int:
    """Brings a unit's derived parts in step with `derived`. Call inside a write."""
    rows = {row.key: row for row in Part.ever.filter(unit=unit, by_hand=False)}
    new, changed = [], []
    for order, made in enumerate(derived.parts):
        row = rows.pop(made.key, None)
        wanted = _values(made, boards) | {"order": order}
        if row is None:
            new.append(Part(unit=unit, key=made.key, **wanted))
            continue
        if row.is_changed or row.is_removed:
            wanted = {"order": order}
        if any(getattr(row, name) != value for name, value in wanted.items()):
            row.version += set(wanted) != {"order"}
            for name, value in wanted.items():
                setattr(row, name, value)
            changed.append(row)
    Part.objects.bulk_create(new)
    if changed:
        Part.ever.bulk_update(changed, [*_values(derived.parts[0], boards), "order", "version"])
    gone = [row.pk for row in rows.values() if row.is_removed or not row.is_changed]
    Part.ever.filter(pk__in=gone).delete()
    return len(derived.parts)


def _values(made: PartMade, boards: Boards) -> dict[str, object]:
    return {
        "name": made.name,
        "count": made.count,
        "length_tenths": made.length,
        "width_tenths": made.width,
        "thickness_tenths": made.thickness,
        "material": boards.called(made.board.key),
        "grain": made.grain,
        "finished_edges": list(made.finished_edges),
        "scribe_tenths": made.scribe_tenths,
        "scribe_edges": list(made.scribe_edges),
        "run": made.run,
        "run_place": made.run_place,
    }


def add_part(
    *, unit: Unit, fields: Mapping[str, object], token: UUID | None = None, now: datetime, by: User | None
) -> Part:
    """Adds a part by hand; fields as in PART_FIELDS. The same form twice adds one."""
    with write(plan=False):
        known = Part.ever.filter(form_token=token).first() if token else None
        if known is not None:
            return known
        row = fresh_unit(unit)
        part = new_by_hand(row, fields)
        part.form_token = token
        part.save()
        part.key = f"hand-{part.pk}"
        part.save(update_fields=["key"])
        reckon(row.build)
        note_in_journal(f"Added the part {part.name} to {row.name}", now=now, by=by, build=row.build)
        return part


def new_by_hand(unit: Unit, fields: Mapping[str, object]) -> Part:
    """A part by hand with its fields checked, not kept yet."""
    if Part.ever.filter(unit=unit).count() >= MOST_PARTS:
        raise Refused(f"A unit has at most {MOST_PARTS:,} parts.")
    return unkept_by_hand(unit, fields)


def unkept_by_hand(unit: Unit, fields: Mapping[str, object]) -> Part:
    """A part by hand, its fields checked; whether the unit has room for one more is not."""
    part = Part(unit=unit, key=f"hand-new-{unit.pk}", by_hand=True, order=BY_HAND_FROM, thickness_tenths=0)
    put_part(part, fields)
    return part


def change_part(
    *, part: Part, fields: Mapping[str, object], version: int | None, now: datetime, by: User | None
) -> Part:
    """Puts other values to a part. One that was derived counts as changed from then on: working the parts
    out anew leaves it as it is until `take_back`."""
    with write(plan=False):
        row = _fresh_part(part)
        check_version(row, version)
        changed = put_part(row, fields, None if row.by_hand else limits_of(row))
        if not changed:
            return row
        row.is_changed = not row.by_hand
        row.version += 1
        row.save()
        reckon(row.unit.build)
        note_in_journal(
            f"Changed the part {row.name} of {row.unit.name}", now=now, by=by, build=row.unit.build
        )
        return row


def remove_part(*, part: Part, now: datetime, by: User | None) -> None:
    """Takes a part out. A derived one stays out when the parts are worked out anew."""
    with write(plan=False):
        row = _fresh_part(part)
        if row.by_hand:
            row.delete()
        else:
            Part.objects.filter(pk=row.pk).update(is_removed=True, version=row.version + 1)
        reckon(row.unit.build)
        note_in_journal(
            f"Removed the part {row.name} of {row.unit.name}", now=now, by=by, build=row.unit.build
        )


def take_back(*, part: Part, now: datetime, by: User | None) -> None:
    """Puts a changed or removed part back to what it is derived as; gone where it no longer is."""
    with write(plan=False):
        row = _fresh_part(part, ever=True)
        if row.by_hand:
            raise Refused("This part was added by hand; there is nothing to go back to.")
        Part.ever.filter(pk=row.pk).update(is_changed=False, is_removed=False)
        store(row.unit, derive_or_refuse(row.unit, making_of(row.unit)), Boards.read())
        reckon(row.unit.build)
        note_in_journal(
            f"Took the part {row.name} of {row.unit.name} back", now=now, by=by, build=row.unit.build
        )


def limits_of(part: Part) -> PartMade | None:
    """The part as it is derived now, None where it no longer is."""
    making = Making.objects.filter(unit=part.unit_id).first()
    kind = UnitKind.objects.filter(key=part.unit.kind).first()
    if making is None or kind is None:
        return None
    found = derived_or_why(part.unit, making, kind, Boards.read())
    if isinstance(found, JoineryError):
        return None
    return next((made for made in found.parts if made.key == part.key), None)


def fresh_unit(unit: Unit) -> Unit:
    row = Unit.objects.select_related("build").filter(pk=unit.pk).first()
    if row is None:
        raise Gone("That unit is not in the build any more.")
    return row


def _fresh_part(part: Part, *, ever: bool = False) -> Part:
    rows = Part.ever if ever else Part.objects
    row = rows.select_related("unit__build", "material").filter(pk=part.pk).first()
    if row is None:
        raise Gone("That part is not there any more.")
    return row
