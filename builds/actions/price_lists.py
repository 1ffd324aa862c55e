"""A supplier's price list: read and looked at first, then taken whole or not at all, and only once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime

from builds.actions.checked import fresh
from builds.actions.door import Refused, Stale, note_in_journal, write
from builds.actions.materials import change_material
from builds.models import Material, PriceList, Supplier, User
from builds.queries.price_lists import PriceRow, price_changes


def look_at_list(
    *, supplier: Supplier, text: str, file_name: str = "", now: datetime, by: User | None
) -> PriceList:
    """Keeps a list to be looked at; it changes nothing yet. The same text twice before it is taken is one."""
    with write(plan=False):
        seller = fresh(Supplier, supplier)
        known = PriceList.objects.filter(supplier=seller, taken_at=None, text=text).first()
        if known is not None:
            return known
        row = PriceList(
            supplier=seller, text=text, file_name=file_name.strip()[:120], read_at=now, read_by=by
        )
        row.save()
    return row


def take_list(
    *,
    price_list: PriceList,
    rows: Sequence[PriceRow],
    bought_only: bool = False,
    seen: str | None = None,
    now: datetime,
    by: User | None,
) -> PriceList:
    """Changes prices, packs, lead times as `rows`, the lines of the list, say; all of them or none.

    `seen` is the mark of the changes that were looked at: refused as stale when they would be others by
    now. Taken twice it does nothing more. Orders made before keep their prices.
    """
    with write(plan=False):
        row = fresh(PriceList, price_list)
        if row.taken_at is not None:
            return row
        found = price_changes(row.supplier, rows, bought_only=bought_only)
        if found.errors:
            raise Refused(str(found.errors[0]))
        if seen is not None and seen != found.mark:
            raise Stale("What is kept changed in the meantime. Look at what the list changes now.")
        if not found.changes:
            raise Refused("Nothing in this list differs from what is kept.")
        _put(found.changes, rows, now, by)
        row.taken_at, row.taken_by = now, by
        row.changes = [asdict(change) for change in found.changes]
        row.save()
        words = f"Took a price list of {row.supplier.name}: {len(found.changes)} changes"
        note_in_journal(words, now=now, by=by)
    return row


def _put(changes, rows: Sequence[PriceRow], now: datetime, by: User | None) -> None:
    codes = {row.code.casefold(): row for row in rows if row.code}
    names = {row.name.casefold(): row for row in rows if row.name}
    for pk in dict.fromkeys(change.material for change in changes):
        material = Material.objects.get(pk=pk)
        row = codes.get(material.code.casefold()) if material.code else None
        row = row or names[material.name.casefold()]
        fields = {change.field: getattr(row, change.field) for change in changes if change.material == pk}
        change_material(material=material, fields=fields, now=now, by=by)
