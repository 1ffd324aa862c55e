"""What is checked of a part before it is kept: its sizes against its board and against its unit."""

from __future__ import annotations

from collections.abc import Mapping

from builds.actions.checked import put_fields
from builds.actions.door import Refused
from builds.engines.joinery.errors import JoineryError, mm
from builds.engines.joinery.pieces import PartMade, require_cuttable
from builds.models import Part
from builds.queries.joinery import board_of

PART_FIELDS = (
    "name", "count", "length_tenths", "width_tenths", "thickness_tenths", "material", "grain",
    "finished_edges", "scribe_tenths", "scribe_edges", "run", "run_place", "note",
)  # fmt: skip
EDGES = ("near", "far", "left", "right")
MOST_SCRIBE, MOST_TENTHS = 1000, 90000


def put_part(part: Part, fields: Mapping[str, object], limits: PartMade | None = None) -> list[str]:
    """Sets fields of a part and refuses what can't be cut; gives the labels of those that changed.

    `limits` is the part as it was derived: what its unit has room for. Without a thickness of its own it
    is as thick as its material. Does not save.
    """
    fields = dict(fields)
    material = fields.setdefault("material", part.material if part.material_id else None)
    if material is None:
        raise Refused("Choose what it is cut from.", field="material")
    if not part.material_id:
        part.material = material
    given = fields.get("thickness_tenths") or part.thickness_tenths
    fields["thickness_tenths"] = round((material.thickness_mm or 0) * 10) or given
    if not fields["thickness_tenths"]:
        raise Refused(f"{material.name} has no thickness of its own: give one.", field="thickness_tenths")
    for name in ("finished_edges", "scribe_edges"):
        if name in fields:
            fields[name] = [edge for edge in EDGES if edge in (fields[name] or ())]
    if fields["material"] == part.material:
        del fields["material"]  # Checked when it was put there; a list of parts is not to ask for each anew.
    changed = put_fields(part, fields, PART_FIELDS)
    _require_scribe(part)
    if not part.run:
        part.run_place = None
    _require_room(part, limits)
    return changed


def _require_scribe(part: Part) -> None:
    if part.scribe_tenths > MOST_SCRIBE:
        raise Refused(f"A scribe allowance is at most {mm(MOST_SCRIBE)}.", field="scribe_tenths")
    if part.scribe_edges and not part.scribe_tenths:
        raise Refused("Say how much is left to scribe on that edge.", field="scribe_tenths")
    if part.scribe_tenths and not part.scribe_edges:
        raise Refused("Say on which edge it is scribed.", field="scribe_edges")


def _require_room(part: Part, limits: PartMade | None) -> None:
    for field in ("length_tenths", "width_tenths"):
        if getattr(part, field) > MOST_TENTHS:
            raise Refused(f"A part is at most {mm(MOST_TENTHS)} long.", field=field)
    try:
        require_cuttable(
            part.name, board_of(part.material), part.length_tenths, part.width_tenths, grain=part.grain
        )
    except JoineryError as error:
        raise Refused(error.reason, field="length_tenths") from None
    if limits is None:
        return
    for field, size, most in (
        ("length_tenths", part.length_tenths, limits.most_length),
        ("width_tenths", part.width_tenths, limits.most_width),
    ):
        if size > most:
            raise Refused(
                f"{part.name} of {mm(size)} is larger than its unit, which has {mm(most)}.", field=field
            )
