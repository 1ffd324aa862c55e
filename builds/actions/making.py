"""How a unit is made: its sizes and choices checked, tried without keeping them, and kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from builds.actions.checked import put_fields
from builds.actions.door import Gone, Refused
from builds.engines.joinery.errors import JoineryError
from builds.engines.joinery.unit import Derived
from builds.models import Making, Unit, UnitKind
from builds.queries.joinery import PLAIN, TENTHS, WALLS, Boards, derived_or_why, kept_or_usual, kinds_by_key

SIZES = ("width_mm", "depth_mm", "height_mm")
BOARD_FIELDS = ("board", "back_board", "front_board", "strip")
MAKING_FIELDS = (
    *BOARD_FIELDS,
    *PLAIN,
    *(f"{name}_tenths" for name in TENTHS),
    *(f"wall_{wall}" for wall in WALLS),
)
UNKNOWN_KIND = "The shop no longer knows this kind of unit."


@dataclass(frozen=True)
class Trial:
    """A unit with other sizes and choices, not kept, and what it would come to."""

    unit: Unit
    derived: Derived
    boards: Boards


def try_making(*, unit: Unit, sizes: Mapping[str, int], choices: Mapping[str, object]) -> Trial:
    """What a unit would come to with these sizes and choices. Keeps nothing; Refused as keeping would be."""
    row = Unit.objects.select_related("build", "making").filter(pk=unit.pk).first()
    if row is None:
        raise Gone("That unit is not in the build any more.")
    boards, kinds = Boards.read(), kinds_by_key()
    making = kept_or_usual(row, kinds, boards)
    if making is None:
        raise Refused(UNKNOWN_KIND)
    return Trial(row, put_making(row, making, sizes, choices, kind=kinds[row.kind], boards=boards), boards)


def put_making(
    unit: Unit,
    making: Making,
    sizes: Mapping[str, int],
    choices: Mapping[str, object],
    *,
    kind: UnitKind | None = None,
    boards: Boards | None = None,
) -> Derived:
    """Sets sizes and choices and gives what comes of them; Refused where that can't work. Does not save."""
    kind = kind or UnitKind.objects.filter(key=unit.kind).first()
    _require_usual_sizes(kind, sizes)
    put_fields(unit, sizes, SIZES)
    put_fields(making, choices, MAKING_FIELDS)
    return derive_or_refuse(unit, making, kind=kind, boards=boards)


def making_of(unit: Unit) -> Making:
    """The unit's choices as kept, or the usual ones, kept from now on. Call inside a write."""
    found = Making.objects.filter(unit=unit).first()
    if found is not None:
        return found
    made = kept_or_usual(unit, kinds_by_key(), Boards.read())
    if made is None:
        raise Refused(UNKNOWN_KIND)
    made.save()
    return made


def derive_or_refuse(
    unit: Unit, making: Making, *, kind: UnitKind | None = None, boards: Boards | None = None
) -> Derived:
    """What the unit comes to. Refused, with the reason at its field, where it can't be made."""
    kind = kind or UnitKind.objects.filter(key=unit.kind).first()
    if kind is None:
        raise Refused(UNKNOWN_KIND)
    found = derived_or_why(unit, making, kind, boards or Boards.read())
    if isinstance(found, JoineryError):
        raise Refused(found.reason, field=found.field or None)
    return found


def _require_usual_sizes(kind: UnitKind | None, sizes: Mapping[str, int]) -> None:
    if kind is None or not kind.least_mm or not kind.most_mm:
        return
    for name, least, most in zip(SIZES, kind.least_mm, kind.most_mm, strict=True):
        if name in sizes and not least <= sizes[name] <= most:
            raise Refused(f"{sizes[name]:,} mm is outside the usual {least:,} to {most:,} mm.", field=name)
