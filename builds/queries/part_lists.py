"""A list of parts read from a file or pasted, beside the parts that a unit has already."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from builds.models import Part, Unit
from builds.queries.unit_page import edges_words, three_sizes

ALIKE = ("name", "count", "length_tenths", "width_tenths", "material_id")
"""What two parts have alike to be taken for the same."""


@dataclass(frozen=True)
class PartRow:
    """One line of a list of parts: where it stands, in which column each field, and the fields."""

    line: int
    columns: tuple[tuple[str, int], ...]
    fields: Mapping[str, object]

    def column_of(self, field: str | None) -> int | None:
        return dict(self.columns).get(field or "")


@dataclass(frozen=True)
class ListedPart:
    """A line as it is shown before it is taken; `is_there` where the unit has such a part already."""

    line: int
    name: str
    count: int
    size: str
    material: str
    edges: str
    is_there: bool


def split_known(unit: Unit, parts: Sequence[Part]) -> tuple[list[int], list[int]]:
    """The places in `parts` of those that are new to the unit, and of those it has already.

    Two alike in the list count as two: as many are known as the unit has.
    """
    known = Counter(Part.objects.filter(unit=unit).values_list(*ALIKE))
    new, there = [], []
    for n, part in enumerate(parts):
        mark = tuple(getattr(part, name) for name in ALIKE)
        if known[mark]:
            known[mark] -= 1
            there.append(n)
        else:
            new.append(n)
    return new, there


def listed(rows: Sequence[PartRow], parts: Sequence[Part], there: Sequence[int]) -> tuple[ListedPart, ...]:
    known = set(there)
    return tuple(
        ListedPart(
            row.line,
            part.name,
            part.count,
            three_sizes(part.length_tenths, part.width_tenths, part.thickness_tenths),
            part.material.name,
            edges_words(part.finished_edges),
            n in known,
        )
        for n, (row, part) in enumerate(zip(rows, parts, strict=True))
    )
