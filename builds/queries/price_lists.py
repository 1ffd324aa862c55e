"""A supplier's price list beside what is kept: what taking it would change, and what it can't."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from builds.models import Material, PriceList, Shop, Supplier
from builds.queries.opening import opening_times

FIELDS = ("code", "pack", "price", "vat_percent", "lead_days", "least_packs")
"""What a list may change of a material, in the order it is shown."""

LABELS = {
    "code": "their number",
    "pack": "a pack holds",
    "price": "price of a pack",
    "vat_percent": "VAT %",
    "lead_days": "lead time, days",
    "least_packs": "fewest packs",
}
NOT_SET = "not set"


@dataclass(frozen=True)
class PriceRow:
    """One line of a price list; what is empty in it is None or "" and stays as it is.

    `columns` tells in which column of the file each field stands, for words about it.
    """

    line: int
    code: str
    name: str
    unit: str = ""
    pack: Decimal | None = None
    price: Decimal | None = None
    vat_percent: Decimal | None = None
    lead_days: int | None = None
    least_packs: int | None = None
    columns: tuple[tuple[str, int], ...] = ()

    def column_of(self, field: str) -> int | None:
        return dict(self.columns).get(field)


@dataclass(frozen=True)
class ListError:
    """What is wrong with one cell, by line and column as a spreadsheet counts them."""

    line: int
    column: int | None
    words: str

    def __str__(self) -> str:
        where = f"Line {self.line}, column {self.column}" if self.column else f"Line {self.line}"
        return f"{where}: {self.words}"


@dataclass(frozen=True)
class PriceChange:
    """One field of one material; `before` and `after` in plain figures, `percent` of a price's change."""

    material: int
    name: str
    field: str
    label: str
    before: str
    after: str
    percent: str


@dataclass(frozen=True)
class PriceChanges:
    """What a list comes to. With `errors` it can't be taken; `left_out` names what the shop does not buy."""

    changes: tuple[PriceChange, ...]
    errors: tuple[ListError, ...]
    left_out: tuple[str, ...]
    unchanged: int

    @property
    def mark(self) -> str:
        """A short word for these changes; another one as soon as taking the list would do something else."""
        held = [(c.material, c.field, c.before, c.after) for c in self.changes]
        return hashlib.sha256(repr(held).encode()).hexdigest()[:16]

    @property
    def materials(self) -> int:
        return len({change.material for change in self.changes})


@dataclass(frozen=True)
class TakenList:
    """A list that was taken earlier."""

    pk: int
    name: str
    taken_on: date
    by: str
    changes: int


def price_changes(supplier: Supplier, rows: Sequence[PriceRow], *, bought_only: bool = False) -> PriceChanges:
    """What taking `rows` would change of what is bought from `supplier`; one query.

    A line is found by the supplier's number, else by the material's name. Lines of what the shop does not
    buy there, or has withdrawn, are errors; with `bought_only` they are left out and named.
    """
    offered = list(Material.objects.filter(supplier=supplier).order_by("order", "name"))
    by_code = {m.code.casefold(): m for m in offered if m.code}
    by_name = {m.name.casefold(): m for m in offered}
    changes: list[PriceChange] = []
    errors: list[ListError] = []
    left_out: list[str] = []
    seen: dict[int, int] = {}
    unchanged = 0
    for row in rows:
        material = by_code.get(row.code.casefold()) if row.code else None
        material = material or by_name.get(row.name.casefold())
        wrong = _not_bought(row, material, supplier)
        if wrong is not None:
            if bought_only:
                left_out.append(row.name or row.code)
            else:
                errors.append(wrong)
            continue
        assert material is not None
        errors.extend(_contradictions(row, material, seen, by_code))
        seen.setdefault(material.pk, row.line)
        found = _changes(row, material)
        changes.extend(found)
        unchanged += not found
    return PriceChanges(tuple(changes), tuple(errors), tuple(left_out), unchanged)


def _not_bought(row: PriceRow, material: Material | None, supplier: Supplier) -> ListError | None:
    if material is None:
        named = f"the number {row.code}" if row.code else f"the name {row.name}"
        column = row.column_of("code" if row.code else "name")
        return ListError(row.line, column, f"Nothing the shop buys from {supplier.name} has {named}.")
    if material.withdrawn:
        words = f"{material.name} is withdrawn. Bring it back, or take this line out."
        return ListError(row.line, row.column_of("name") or row.column_of("code"), words)
    return None


def _contradictions(
    row: PriceRow, material: Material, seen: dict[int, int], by_code: dict[str, Material]
) -> Iterable[ListError]:
    if material.pk in seen:
        words = f"{material.name} stands in line {seen[material.pk]} already."
        yield ListError(row.line, row.column_of("code") or row.column_of("name"), words)
    if row.name and row.name.casefold() != material.name.casefold() and row.code:
        words = f"The number {row.code} is {material.name} here, not {row.name}."
        yield ListError(row.line, row.column_of("name"), words)
    unit = material.get_unit_display()
    if row.unit and row.unit not in (unit, material.unit):
        words = f"{material.name} is counted in {unit} here, not in {row.unit}."
        yield ListError(row.line, row.column_of("unit"), words)


def _changes(row: PriceRow, material: Material) -> list[PriceChange]:
    found = []
    for field in FIELDS:
        after, before = getattr(row, field), getattr(material, field)
        if after in (None, "") or after == before or _same_number(before, after):
            continue
        rises = before and field == "price"
        percent = f"{(after - before) / before * 100:+.1f} %" if rises else ""
        words = (_words(before, field), _words(after, field))
        found.append(PriceChange(material.pk, material.name, field, LABELS[field], *words, percent))
    return found


def _same_number(before: object, after: object) -> bool:
    """Whether a supplier's number only differs by its capitals."""
    return isinstance(after, str) and str(before).casefold() == after.casefold()


def _words(value: object, field: str) -> str:
    """A figure without the zeros that only fill it up; a price keeps its pence."""
    if value in (None, ""):
        return NOT_SET
    if field == "price":
        return f"{value:,.2f}"
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    return str(value)


def taken_lists(supplier: Supplier, shop: Shop) -> tuple[TakenList, ...]:
    """The lists of a supplier that were taken, the newest first, twenty at most."""
    times = opening_times(shop)
    rows = PriceList.objects.filter(supplier=supplier).exclude(taken_at=None).select_related("taken_by")
    return tuple(
        TakenList(
            pk=row.pk,
            name=row.file_name or "typed in",
            taken_on=times.day_of(row.taken_at),
            by=str(row.taken_by) if row.taken_by else "",
            changes=len(row.changes),
        )
        for row in rows.order_by("-taken_at")[:20]
    )
