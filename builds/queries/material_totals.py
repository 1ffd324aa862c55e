"""Everything some builds need, totalled by material and by supplier: packs, price, mass, order-by dates."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from functools import cached_property

from builds.engines.material.reckoning import Money, line_price, minimum_missing, packs_for, total_price
from builds.models import Build, Material, Shop, Supplier
from builds.queries.covering import Coverage, StockFigures
from builds.queries.material_lines import UNDATED, NeedLine, need_lines
from builds.queries.opening import OpeningTimes, opening_times
from builds.queries.quantities import in_words, pack_words, packs_in_words, quantity, total

NO_SUPPLIER = "No supplier named"
STOCK = "the shop’s stock"
NONE = Decimal(0)


@dataclass(frozen=True)
class MaterialLine:
    """One material over the builds, with the needs it is made of.

    `packs` hold all of it, `packs_left` what is still to order; `price` goes with the one and
    `price_left` with the other. What is left is neither used, here nor on its way: `first_left` is its
    first use, `order_by` the last day to order it, `costs_days` how many days after that first use it
    would come if it were ordered today. `top_up` is what the shop's own stock lacks of its level, in
    `packs_left` too. `mass_kg` is None where the mass of a unit is not known.
    """

    pk: int
    key: str
    name: str
    place: int
    supplier: Supplier | None
    needs: tuple[NeedLine, ...]
    needed: str
    waste: str
    with_waste: str
    rule: str
    packs: int
    packs_left: int
    pack: str
    packs_words: str
    left_words: str
    vat_percent: Decimal
    price: Money
    price_left: Money
    mass_kg: Decimal | None
    first_use: date | None
    first_left: date | None
    order_by: date | None
    days_late: int
    costs_days: int
    withdrawn: bool
    least_packs: int
    top_up: Decimal
    stock_words: str

    @property
    def is_late(self) -> bool:
        return self.days_late > 0

    @property
    def is_covered(self) -> bool:
        return not self.top_up and not any(need.left for need in self.needs)

    @property
    def builds(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(need.build for need in self.needs))

    @property
    def builds_left(self) -> tuple[str, ...]:
        vans = tuple(dict.fromkeys(need.build for need in self.needs if need.left))
        return (*vans, STOCK) if self.top_up else vans


@dataclass(frozen=True)
class SupplierTotal:
    """What is bought of one supplier; `below_minimum` is what an order of what is left lacks."""

    name: str
    supplier: Supplier | None
    lines: tuple[MaterialLine, ...]
    price: Money
    price_left: Money
    below_minimum: Decimal
    order_by: date | None

    @cached_property
    def to_order(self) -> tuple[MaterialLine, ...]:
        return in_order_of_ordering(line for line in self.lines if not line.is_covered)


@dataclass(frozen=True)
class MaterialTotals:
    """The material of one build or several, as prepared for the screen and the paper."""

    title: str
    shop_name: str
    currency: str
    made_words: str
    builds: tuple[Build, ...]
    margin_days: int
    vat_words: str
    vat_by_line: bool
    lines: tuple[MaterialLine, ...]
    by_customer: tuple[MaterialLine, ...]
    suppliers: tuple[SupplierTotal, ...]
    price: Money
    price_left: Money

    @property
    def mass_kg(self) -> Decimal:
        return sum((line.mass_kg or NONE for line in (*self.lines, *self.by_customer)), NONE)

    @property
    def mass_unknown(self) -> tuple[str, ...]:
        return tuple(n.name for n in (*self.lines, *self.by_customer) if n.mass_kg is None)

    @cached_property
    def to_order(self) -> tuple[MaterialLine, ...]:
        return in_order_of_ordering(line for line in self.lines if not line.is_covered)

    @property
    def customers_to_ask(self) -> tuple[tuple[int, str], ...]:
        """Vans whose customer was not asked for all that they bring."""
        needs = (need for line in self.by_customer for need in line.needs if need.left)
        return tuple(dict.fromkeys((need.build_pk, need.build) for need in needs))

    @property
    def late(self) -> tuple[MaterialLine, ...]:
        return tuple(line for line in self.to_order if line.is_late)


def in_order_of_ordering(lines: Iterable[MaterialLine]) -> tuple[MaterialLine, ...]:
    """The first to order first, so late ones; what nothing dates stands last."""
    return tuple(sorted(lines, key=lambda line: (line.order_by or UNDATED, line.place, line.name)))


def material_totals(
    builds: Iterable[Build], now: datetime, *, shop: Shop | None = None, with_stock: bool = False
) -> MaterialTotals:
    """The totals of these builds together: packs are rounded up once over all of them.

    Three queries with `shop` given, the same for one build and for many; `with_stock` adds what the
    shop's stock lacks, and one query.
    """
    shop = shop or Shop.objects.get(pk=1)
    times = opening_times(shop)
    chosen = tuple(builds)
    found = need_lines([build.pk for build in chosen], times)
    groups: dict[tuple[bool, int], list[NeedLine]] = defaultdict(list)
    for need in found.needs:
        groups[need.customer_supplies, need.material.pk].append(need)
    materials = {needs[0].material.pk: needs[0].material for needs in groups.values()}
    low = _low_stock(found.coverage) if with_stock else {}
    for material in low:
        groups.setdefault((False, material.pk), [])
        materials.setdefault(material.pk, material)
    top_ups = {material.pk: lacking for material, lacking in low.items()}
    today = times.day_of(now)
    lines = [
        _material(
            materials[pk],
            needs,
            customer=customer,
            top_up=NONE if customer else top_ups.get(pk, NONE),
            stock=found.coverage.stock_of(pk),
            today=today,
            margin=shop.order_margin_days,
            times=times,
        )
        for (customer, pk), needs in groups.items()
    ]
    return _totals(chosen, lines, shop, _made_words(now, times))


def _low_stock(coverage: Coverage) -> dict[Material, Decimal]:
    """Consumables of which less is free than their level, and what tops them up again."""
    rows = Material.objects.filter(withdrawn=False, reorder_level__isnull=False).select_related("supplier")
    found = {}
    for material in rows:
        free = coverage.stock_of(material.pk).free
        if free < material.reorder_level:
            found[material] = max(material.top_up_to or material.reorder_level, material.reorder_level) - free
    return found


def _totals(
    chosen: tuple[Build, ...], lines: list[MaterialLine], shop: Shop, made_words: str
) -> MaterialTotals:
    lines.sort(key=lambda line: (line.place, line.name))
    by_customer = tuple(line for line in lines if line.needs and line.needs[0].customer_supplies)
    bought = tuple(line for line in lines if not (line.needs and line.needs[0].customer_supplies))
    suppliers = _suppliers(bought, shop.vat_level)
    return MaterialTotals(
        title=_title(chosen),
        shop_name=shop.name,
        currency=shop.currency,
        made_words=made_words,
        builds=chosen,
        margin_days=shop.order_margin_days,
        vat_words=shop.get_vat_level_display(),
        vat_by_line=shop.vat_level == "line",
        lines=bought,
        by_customer=by_customer,
        suppliers=suppliers,
        price=_sum(s.price for s in suppliers),
        price_left=_sum(s.price_left for s in suppliers),
    )


def _title(builds: Sequence[Build]) -> str:
    names = ", ".join(build.name for build in builds)
    return f"Material totals: {names or 'no builds'}"


def _made_words(now: datetime, times: OpeningTimes) -> str:
    day = times.day_of(now)
    return f"As planned on {day:%a} {day.day} {day:%b} {day.year}. Dates move with the plan."


def _material(
    material: Material,
    needs: Sequence[NeedLine],
    *,
    customer: bool,
    top_up: Decimal,
    stock: StockFigures,
    today: date,
    margin: int,
    times: OpeningTimes,
) -> MaterialLine:
    unit = material.unit
    amount = _total(needs, "quantity", unit)
    wanted, left = _total(needs, "wanted", unit), _total(needs, "left", unit) + top_up
    packs, packs_left = packs_for(wanted, material.pack), packs_for(left, material.pack)
    if packs_left:
        packs_left = max(packs_left, material.least_packs)
    price = NONE if customer else material.price
    masses = [need.mass_kg for need in needs]
    first_left = min((need.first_use for need in needs if need.left and need.first_use), default=None)
    order_by, days_late, costs_days = _dates(first_left, lead_days(material), margin, today, times)
    return MaterialLine(
        pk=material.pk,
        key=material.key,
        name=material.name,
        place=material.order,
        supplier=material.supplier,
        needs=tuple(needs),
        needed=in_words(amount, unit),
        waste=_waste(needs),
        with_waste=in_words(wanted, unit),
        rule=material.rule,
        packs=packs,
        packs_left=packs_left,
        pack=pack_words(material.pack, unit),
        packs_words=packs_in_words(packs, material.form, material.pack, unit),
        left_words=packs_in_words(packs_left, material.form, material.pack, unit),
        vat_percent=material.vat_percent,
        price=line_price(packs, price, material.vat_percent),
        price_left=line_price(packs_left, price, material.vat_percent),
        mass_kg=None if None in masses else sum(masses, NONE),
        first_use=min((need.first_use for need in needs if need.first_use), default=None),
        first_left=first_left,
        order_by=order_by,
        days_late=days_late,
        costs_days=costs_days,
        withdrawn=material.withdrawn,
        least_packs=material.least_packs,
        top_up=top_up,
        stock_words=_stock_words(material, stock, top_up),
    )


def _stock_words(material: Material, stock: StockFigures, top_up: Decimal) -> str:
    """What lies in stock and for whom, where there is anything to say."""
    unit = material.unit
    said = []
    if stock.on_hand or material.reorder_level is not None:
        said.append(
            f"{in_words(stock.on_hand, unit)} in stock, {in_words(stock.reserved, unit)} of it reserved"
        )
    if stock.on_order and stock.on_order.is_finite():
        said.append(f"{in_words(stock.on_order, unit)} on order for stock")
    if top_up:
        said.append(f"the stock is to hold {in_words(material.reorder_level, unit)} at least")
    return "; ".join(said)


def _total(needs: Sequence[NeedLine], field: str, unit: str) -> Decimal:
    sums: dict[str, Decimal] = defaultdict(Decimal)
    for need in needs:
        sums[need.material.unit] += getattr(need, field)
    return total([quantity(value, of) for of, value in sums.items()], unit).magnitude


def _waste(needs: Sequence[NeedLine]) -> str:
    found = sorted({need.waste_percent for need in needs}) or [NONE]
    return " to ".join(f"{percent.normalize():f}" for percent in dict.fromkeys((found[0], found[-1]))) + " %"


def lead_days(material: Material) -> int:
    """The material's own lead time, else its supplier's usual one."""
    if material.lead_days is not None:
        return material.lead_days
    return material.supplier.lead_days if material.supplier else 0


def _dates(
    first_left: date | None, lead: int, margin: int, today: date, times: OpeningTimes
) -> tuple[date | None, int, int]:
    """The last open day to order what is left, how many days ago that was, and what ordering today costs."""
    if first_left is None:
        return None, 0, 0
    order_by = times.open_day_until(first_left - timedelta(days=lead + margin))
    return (
        order_by,
        max(0, (today - order_by).days),
        max(0, (today + timedelta(days=lead) - first_left).days),
    )


def _suppliers(lines: Sequence[MaterialLine], vat_level: str) -> tuple[SupplierTotal, ...]:
    groups: dict[int | None, list[MaterialLine]] = defaultdict(list)
    for line in lines:
        groups[line.supplier.pk if line.supplier else None].append(line)
    totals = [_supplier(group, vat_level) for group in groups.values()]
    return tuple(sorted(totals, key=lambda s: (s.order_by or UNDATED, s.supplier is None, s.name)))


def _supplier(lines: Sequence[MaterialLine], vat_level: str) -> SupplierTotal:
    supplier = lines[0].supplier
    left = total_price([(line.price_left.net, line.vat_percent) for line in lines], vat_level)
    return SupplierTotal(
        name=supplier.name if supplier else NO_SUPPLIER,
        supplier=supplier,
        lines=tuple(lines),
        price=total_price([(line.price.net, line.vat_percent) for line in lines], vat_level),
        price_left=left,
        below_minimum=minimum_missing(left.net, supplier.minimum_order) if supplier and left.net else NONE,
        order_by=min((line.order_by for line in lines if line.order_by), default=None),
    )


def _sum(prices: Iterable[Money]) -> Money:
    rows = list(prices)
    return Money(sum((money.net for money in rows), NONE), sum((money.vat for money in rows), NONE))
