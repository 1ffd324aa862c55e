"""Runs of battens, trims, pipe and cable that the owner lists for a build."""

from __future__ import annotations

from datetime import datetime
from decimal import ROUND_CEILING
from uuid import UUID

from builds.actions.door import Gone, Refused, check_version, note_in_journal, write
from builds.models import Build, Material, Run, User
from builds.queries.quantities import typed_quantity

LEAST_TENTHS, MOST_COUNT = 10, 999


def add_run(
    *,
    build: Build,
    material: Material,
    name: str,
    length: str,
    count: int = 1,
    one_piece: bool = False,
    token: UUID | None = None,
    now: datetime,
    by: User | None,
) -> Run:
    """Lists a run, its `length` as typed: "2400 mm" or "2.4 m". The same form twice lists one."""
    with write(plan=False):
        known = Run.objects.filter(form_token=token).first() if token else None
        if known is not None:
            return known
        if material.form != "length" or material.withdrawn:
            raise Refused(f"{material.name} is not sold in lengths.", field="material")
        name = name.replace("\x00", "").strip()
        if not name:
            raise Refused("Say what it is for.", field="name")
        if not 1 <= count <= MOST_COUNT:
            raise Refused("Between 1 and 999 of them.", field="count")
        run = Run.objects.create(
            build=build,
            material=material,
            name=name[:80],
            length_tenths=_tenths(length),
            count=count,
            one_piece=one_piece,
            form_token=token,
        )
        note_in_journal(f"Listed {count} × {length.strip()} of {material.name}", now=now, by=by, build=build)
    return run


def remove_run(*, run: Run, version: int | None = None, now: datetime, by: User | None) -> None:
    """Takes a run off the list."""
    with write(plan=False):
        found = Run.objects.select_related("material", "build").filter(pk=run.pk).first()
        if found is None:
            raise Gone("It is off the list already.")
        check_version(found, version)
        note_in_journal(f"Took “{found.name}” off the lengths", now=now, by=by, build=found.build)
        found.delete()


def _tenths(length: str) -> int:
    """Whole tenths of a millimetre; a bare number is in millimetres."""
    text = length.strip()
    bare = text.replace(",", ".").replace(".", "", 1).isdecimal()
    try:
        metres = typed_quantity(f"{text} mm" if bare else text, "m")
    except ValueError as error:
        raise Refused(str(error), field="length") from None
    tenths = metres * 10000
    if not LEAST_TENTHS <= tenths <= Run.LONGEST_TENTHS:
        raise Refused("A run is between 1 mm and 100 m long.", field="length")
    return int(tenths.to_integral_value(ROUND_CEILING))
