"""A list of parts added to a unit by hand: all of it or nothing, and once."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID, uuid5

from builds.actions.door import Refused, note_in_journal, write
from builds.actions.needs import reckon
from builds.actions.parts import MOST_PARTS, fresh_unit, unkept_by_hand
from builds.models import Part, Unit, User
from builds.queries.part_lists import PartRow, split_known
from builds.queries.price_lists import ListError


class ListRefused(Refused):
    """Lines that can't be parts; `errors` say which and why."""

    def __init__(self, errors: Sequence[ListError]) -> None:
        super().__init__("Nothing was added.")
        self.errors = tuple(errors)


def checked_list(unit: Unit, rows: Sequence[PartRow]) -> list[Part]:
    """The parts that the lines come to, not kept yet. Raises ListRefused with all lines that can't be."""
    found, errors = [], []
    for row in rows:
        try:
            found.append(unkept_by_hand(unit, row.fields))
        except Refused as error:
            errors.append(ListError(row.line, row.column_of(error.field), error.words))
    if errors:
        raise ListRefused(errors)
    return found


def add_parts(
    *,
    unit: Unit,
    rows: Sequence[PartRow],
    token: UUID,
    once_more: bool = False,
    now: datetime,
    by: User | None,
) -> int:
    """Adds the parts of a list by hand and gives how many; those the unit has already only if `once_more`.

    The same `token` a second time adds nothing more.
    """
    with write(plan=False):
        row = fresh_unit(unit)
        numbers = [uuid5(token, str(n)) for n in range(len(rows))]
        before = Part.ever.filter(form_token__in=numbers[:MOST_PARTS]).count()
        if before:
            return before
        parts = checked_list(row, rows)
        wanted = range(len(parts)) if once_more else split_known(row, parts)[0]
        if Part.ever.filter(unit=row).count() + len(wanted) > MOST_PARTS:
            raise Refused(f"A unit has at most {MOST_PARTS:,} parts.")
        for n in wanted:
            parts[n].key = f"hand-{numbers[n].hex}"
            parts[n].form_token = numbers[n]
        Part.objects.bulk_create([parts[n] for n in wanted])
        if wanted:
            reckon(row.build)
            what = f"Added {len(wanted)} {'part' if len(wanted) == 1 else 'parts'} to {row.name} from a list"
            note_in_journal(what, now=now, by=by, build=row.build)
        return len(wanted)
