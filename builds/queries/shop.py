"""The shop as its pages show it: closed days, the public holidays to come, what it buys."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import Q

from builds.models import ClosedDay, Material, Shop
from builds.queries.opening import opening_times, public_holidays

AHEAD_DAYS = 550
BACK_DAYS = 31


@dataclass(frozen=True)
class Closure:
    """One own closed day, or several in a row with the same reason."""

    first: date
    last: date
    reason: str
    days: int
    past: bool


@dataclass(frozen=True)
class Holiday:
    """A public holiday to come. `worked`: open after all. `matters`: the shop opens on that weekday."""

    date: date
    name: str
    worked: bool
    matters: bool


@dataclass(frozen=True)
class ShopDays:
    closures: tuple[Closure, ...]
    holidays: tuple[Holiday, ...]


def shop_days(today: date) -> ShopDays:
    """Own closed days from a month ago, holidays of the next year and a half; three queries."""
    shop = Shop.objects.filter(pk=1).first() or Shop(pk=1)
    times = opening_times(shop)
    last = today + timedelta(days=AHEAD_DAYS)
    named = {
        day: name
        for year in range(today.year, last.year + 1)
        for day, name in public_holidays(shop.country, shop.subdivision, year).items()
        if today <= day <= last
    }
    return ShopDays(
        closures=_closures(today),
        holidays=tuple(
            Holiday(day, name, day in times.worked_anyway, bool(times.week.get(day.weekday())))
            for day, name in sorted(named.items())
        ),
    )


def _closures(today: date) -> tuple[Closure, ...]:
    rows = ClosedDay.objects.filter(works_anyway=False, date__gte=today - timedelta(days=BACK_DAYS))
    found: list[Closure] = []
    for day, reason in rows.values_list("date", "reason"):
        before = found[-1] if found else None
        if before and before.reason == reason and day == before.last + timedelta(days=1):
            found[-1] = Closure(before.first, day, reason, before.days + 1, day < today)
        else:
            found.append(Closure(day, day, reason, 1, day < today))
    return tuple(found)


@dataclass(frozen=True)
class MaterialLine:
    """One material as bought: `pack` units of `unit` for `price` without VAT."""

    pk: int
    name: str
    form: str
    unit: str
    pack: str
    price: Decimal
    currency: str
    supplier: str
    lead_days: int | None
    size: str
    withdrawn: bool


def material_lines(words: str = "") -> list[MaterialLine]:
    """Materials whose name, supplier or rule holds each of the words, offered ones first; two queries."""
    rows = Material.objects.select_related("supplier").order_by("withdrawn", "order", "name")
    for word in words.split()[:6]:
        held = Q(name__icontains=word) | Q(supplier__name__icontains=word) | Q(rule__icontains=word)
        rows = rows.filter(held)
    currency = Shop.objects.values_list("currency", flat=True).first() or "GBP"
    return [_material_line(row, currency) for row in rows]


def _material_line(row: Material, currency: str) -> MaterialLine:
    sizes = [f"{float(size):g}" for size in (row.length_mm, row.width_mm, row.thickness_mm) if size]
    lead = row.lead_days
    if lead is None and row.supplier:
        lead = row.supplier.lead_days
    return MaterialLine(
        pk=row.pk,
        name=row.name,
        form=row.get_form_display(),
        unit=row.get_unit_display(),
        pack=f"{float(row.pack):g}",
        price=row.price,
        currency=currency,
        supplier=row.supplier.name if row.supplier else "",
        lead_days=lead,
        size=" × ".join(sizes) + " mm" if sizes else "",
        withdrawn=row.withdrawn,
    )
