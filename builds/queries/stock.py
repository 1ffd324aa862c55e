"""What lies in the shop: stock with what is reserved and on order, its history; offcuts with theirs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from builds.models import Build, Material, Offcut, OffcutEvent, Shop, StockMovement
from builds.queries.covering import StockFigures
from builds.queries.material_lines import need_lines
from builds.queries.opening import opening_times
from builds.queries.quantities import in_words

MOST_SHOWN = 100
NONE = Decimal(0)


@dataclass(frozen=True)
class StockLine:
    """One material the shop keeps. `state` is "low", "count" (less than nothing on record) or ""."""

    pk: int
    name: str
    supplier: str
    place: str
    on_hand: str
    reserved: str
    on_order: str
    free: str
    level: str
    state: str
    for_whom: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class MovementLine:
    """One movement; `change` has its sign."""

    at: datetime
    by: str
    words: str
    change: str
    after: str
    place: str
    why: str


@dataclass(frozen=True)
class OffcutLine:
    pk: int
    version: int
    material: str
    size: str
    lies: str
    state: str
    left_from: str
    used_for: str
    kept_on: date


@dataclass(frozen=True)
class OffcutStep:
    at: datetime
    by: str
    words: str
    size: str
    lies: str
    why: str


def stock_lines(shop: Shop) -> tuple[StockLine, ...]:
    """Materials that were ever in stock or have a level, low ones first; four queries and the opening."""
    needs, figures = _figures(shop)
    places = _places()
    rows = Material.objects.select_related("supplier").order_by("order", "name")
    lines = [
        _line(material, figures(material.pk), places.get(material.pk, ""), needs.get(material.pk, ()))
        for material in rows
        if material.pk in places or material.reorder_level is not None
    ]
    return tuple(sorted(lines, key=lambda line: line.state == ""))


def stock_line(material: Material, shop: Shop, movements: Sequence[MovementLine]) -> StockLine:
    """One material, also with for whom it is reserved; it lies where the last of its `movements` says."""
    needs, figures = _figures(shop)
    place = next((row.place for row in movements if row.place), "")
    return _line(material, figures(material.pk), place, needs.get(material.pk, ()))


def _figures(shop: Shop):
    """Who has what of the stock meant for them, and the figures of each material."""
    agreed = list(Build.objects.to_plan().values_list("pk", flat=True))
    found = need_lines(agreed, opening_times(shop))
    whom: dict[int, dict[str, Decimal]] = {}
    for need in found.needs:
        if need.from_stock:
            vans = whom.setdefault(need.material.pk, {})
            vans[need.build] = vans.get(need.build, NONE) + need.from_stock
    return {pk: tuple(vans.items()) for pk, vans in whom.items()}, found.coverage.stock_of


def _places() -> dict[int, str]:
    """Where each material lay last; "" where that was never said."""
    rows = StockMovement.objects.order_by("at", "pk").values_list("material_id", "place")
    found: dict[int, str] = {}
    for material, place in rows:
        found[material] = place or found.get(material, "")
    return found


def _line(material: Material, stock: StockFigures, place: str, whom) -> StockLine:
    unit, level = material.unit, material.reorder_level
    low = level is not None and stock.free < level
    on_order = stock.on_order
    return StockLine(
        pk=material.pk,
        name=material.name,
        supplier=material.supplier.name if material.supplier else "",
        place=place,
        on_hand=in_words(stock.on_hand, unit),
        reserved=in_words(stock.reserved, unit) if stock.reserved else "",
        on_order=("enough" if not on_order.is_finite() else in_words(on_order, unit)) if on_order else "",
        free=in_words(stock.free, unit) if stock.free.is_finite() else "enough",
        level=in_words(level, unit) if level is not None else "",
        state="count" if stock.on_hand < 0 else "low" if low else "",
        for_whom=tuple((van, in_words(quantity, unit)) for van, quantity in whom),
    )


def movement_lines(material: Material) -> tuple[MovementLine, ...]:
    """What happened to the stock of a material, the last first, with what there was after each; one query."""
    rows = list(
        StockMovement.objects.filter(material=material)
        .select_related("by", "build", "delivery")
        .order_by("at", "pk")
    )
    unit, total, lines = material.unit, NONE, []
    for row in rows:
        total += row.change
        sign = "+" if row.change > 0 else "−" if row.change < 0 else "±"
        lines.append(
            MovementLine(
                at=row.at,
                by=str(row.by) if row.by else "",
                words=_words(row),
                change=f"{sign}{in_words(abs(row.change), unit)}",
                after=in_words(total, unit),
                place=row.place,
                why=row.why,
            )
        )
    return tuple(reversed(lines))[:MOST_SHOWN]


def _words(row: StockMovement) -> str:
    if row.kind == "taken" and row.build:
        return f"taken for {row.build.name}"
    van = f" for {row.build.name}" if row.build and row.kind == "cut" else ""
    from_van = f" from {row.build.name}" if row.build and row.kind == "back" else ""
    return f"{row.get_kind_display()}{van}{from_van}"


def offcut_lines(*, gone: bool = False) -> tuple[OffcutLine, ...]:
    """Offcuts that are there, by material, the largest first; or those used and thrown out. One query."""
    rows = Offcut.objects.select_related("material", "cut_for", "used_for")
    rows = rows.exclude(state="there").order_by("-pk")[:MOST_SHOWN] if gone else rows.filter(state="there")
    return tuple(offcut_line(row) for row in rows)


def offcut_line(row: Offcut) -> OffcutLine:
    return OffcutLine(
        pk=row.pk,
        version=row.version,
        material=row.material.name,
        size=_size(row.length_mm, row.width_mm),
        lies=row.lies,
        state=row.state,
        left_from=row.cut_for.name if row.cut_for else "",
        used_for=row.used_for.name if row.used_for else "",
        kept_on=row.kept_at.date(),
    )


def offcut_steps(offcut: Offcut) -> tuple[OffcutStep, ...]:
    """What was done with it, the last first; one query."""
    rows = OffcutEvent.objects.filter(offcut=offcut).select_related("by", "build")
    return tuple(
        OffcutStep(
            at=row.at,
            by=str(row.by) if row.by else "",
            words=row.get_kind_display()
            + (f" for {row.build.name}" if row.build and row.kind == "used" else ""),
            size=_size(row.length_mm, row.width_mm),
            lies=row.lies,
            why=row.why,
        )
        for row in rows
    )


def _size(length_mm: int, width_mm: int | None) -> str:
    return f"{length_mm} × {width_mm} mm" if width_mm else f"{length_mm} mm"
