"""Orders: all of them, late ones first, and one with its lines, what came of it and where that lies."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db.models import Prefetch

from builds.engines.material.reckoning import Money, line_price, minimum_missing, packs_for, total_price
from builds.engines.material.sharing import shared_out
from builds.models import Delivery, Order, OrderLine, Shop, Task
from builds.queries.opening import OpeningTimes, opening_times
from builds.queries.quantities import in_words, pack_words, packs_in_words

NONE = Decimal(0)
DONE_DAYS = 60
STOCK = "stock"
GROUPS = (
    ("late", "Late"),
    ("draft", "Not sent yet"),
    ("coming", "On the way"),
    ("shelf", "Here, not yet found and on the shelf"),
    ("done", "All here, in the last two months"),
    ("dropped", "Called off, in the last two months"),
)


@dataclass(frozen=True)
class OrderRow:
    """One order in the list. `first_start`: when the first task that waits for something late is planned."""

    pk: int
    number: int
    whom: str
    from_customer: bool
    state: str
    what: str
    vans: tuple[str, ...]
    net: Decimal
    made_on: date
    sent_on: date | None
    expected_on: date | None
    days_late: int
    waiting: int
    first_start: date | None


@dataclass(frozen=True)
class OrderGroup:
    key: str
    title: str
    rows: tuple[OrderRow, ...]


@dataclass(frozen=True)
class Part:
    """What of a line comes or came for one van, or for stock."""

    pk: int
    version: int
    whom: str
    build: int | None
    words: str
    expected_on: date
    moved_from: date | None
    arrived_on: date | None
    on_shelf_on: date | None
    days_late: int
    tasks: tuple[str, ...]


@dataclass(frozen=True)
class Booking:
    """One entry of what came of a line."""

    pk: int
    words: str
    note: str
    came_on: date
    at: datetime
    by: str
    is_taken_back: bool


@dataclass(frozen=True)
class LineOfOrder:
    """One line; `open_packs` are still to come. `for_whom` says how a draft is shared out."""

    pk: int
    material: int
    name: str
    code: str
    packs: int
    words: str
    pack: str
    for_whom: str
    price: Decimal
    vat_percent: Decimal
    money: Money
    open_packs: int
    came_packs: int
    lead_days: int
    is_withdrawn: bool
    parts: tuple[Part, ...]
    bookings: tuple[Booking, ...]


@dataclass(frozen=True)
class OrderPage:
    """One order, as its screen and its paper show it."""

    pk: int
    number: int
    title: str
    version: int
    state: str
    whom: str
    email: str
    phone: str
    supplier: int | None
    build: int | None
    from_customer: bool
    note: str
    made_on: date
    sent_on: date | None
    currency: str
    vat_words: str
    lines: tuple[LineOfOrder, ...]
    money: Money
    below_minimum: Decimal
    longest_lead: int
    shop_name: str
    made_words: str

    @property
    def is_draft(self) -> bool:
        return self.state == "draft"

    @property
    def open_lines(self) -> tuple[LineOfOrder, ...]:
        return tuple(line for line in self.lines if line.open_packs)

    @property
    def parts_to_find(self) -> tuple[Part, ...]:
        """What is here and not yet on its van's kit shelf."""
        return tuple(p for line in self.lines for p in line.parts if p.arrived_on and not p.on_shelf_on)

    @property
    def withdrawn_words(self) -> str:
        """What can't be ordered any more, and what to do about it; "" where all can."""
        names = " and ".join(line.name for line in self.lines if line.is_withdrawn)
        return f"Withdrawn: {names}. Bring it back under Materials, or take it out here." if names else ""

    @property
    def has_bookings(self) -> bool:
        return any(line.bookings for line in self.lines)

    @property
    def next_on(self) -> date | None:
        """When the next of it is expected."""
        days = [p.expected_on for line in self.lines for p in line.parts if not p.arrived_on]
        return min(days, default=None)

    @property
    def days_late(self) -> int:
        return max((p.days_late for line in self.lines for p in line.parts), default=0)


def order_groups(now: datetime, *, shop: Shop) -> tuple[OrderGroup, ...]:
    """Orders by what they need of somebody, late ones first; empty groups are left out. Seven queries."""
    times = opening_times(shop)
    today = times.day_of(now)
    waiting = Task.objects.unfinished().select_related("planned")
    parts = Delivery.objects.select_related("build").prefetch_related(Prefetch("tasks", waiting))
    lines = OrderLine.objects.prefetch_related(Prefetch("deliveries", parts), "shares__build")
    found: dict[str, list[OrderRow]] = {key: [] for key, _ in GROUPS}
    rows = Order.objects.select_related("supplier", "build").prefetch_related(Prefetch("lines", lines))
    for order in rows:
        row, key = _row(order, times, today)
        if key not in ("done", "dropped") or (row.sent_on or row.made_on) >= today - timedelta(
            days=DONE_DAYS
        ):
            found[key].append(row)
    for key in ("late", "coming"):
        found[key].sort(key=lambda row: (row.expected_on or today, row.number))
    return tuple(OrderGroup(key, title, tuple(found[key])) for key, title in GROUPS if found[key])


def _row(order: Order, times: OpeningTimes, today: date) -> tuple[OrderRow, str]:
    lines = list(order.lines.all())
    parts = [part for line in lines for part in line.deliveries.all()]
    waiting = [part for part in parts if part.arrived_on is None]
    late = [part for part in waiting if part.expected_on < today]
    starts = [t.planned.start for part in late for t in part.tasks.all() if hasattr(t, "planned")]
    shares = {share.build.name for line in lines for share in line.shares.all()}
    row = OrderRow(
        pk=order.pk,
        number=order.number,
        whom=whom_of(order),
        from_customer=order.build_id is not None,
        state=order.state,
        what=_named([line.name for line in lines]),
        vans=tuple(sorted({part.build.name for part in parts if part.build} or shares)),
        net=sum((line.price * line.packs for line in lines), NONE),
        made_on=times.day_of(order.made_at),
        sent_on=order.sent_on,
        expected_on=min((part.expected_on for part in waiting), default=None),
        days_late=max(((today - part.expected_on).days for part in late), default=0),
        waiting=len(waiting),
        first_start=times.day_of(min(starts)) if starts else None,
    )
    if order.state != "sent":
        return row, order.state
    if late:
        return row, "late"
    if waiting:
        return row, "coming"
    return row, "shelf" if any(part.on_shelf_on is None for part in parts) else "done"


def _named(names: list[str]) -> str:
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return ", ".join(names[:3]) + more if names else "nothing yet"


def whom_of(order: Order) -> str:
    return order.supplier.name if order.supplier else f"{order.build.name}’s customer"


def order_page(order: Order, now: datetime, *, shop: Shop) -> OrderPage:
    """One order whole; six queries. `order` comes with its supplier and build."""
    times = opening_times(shop)
    today = times.day_of(now)
    tasks = Prefetch("tasks", Task.objects.unfinished())
    parts = Delivery.objects.select_related("build").prefetch_related(tasks).order_by("arrived_on", "pk")
    rows = (
        order.lines.select_related("material__supplier")
        .prefetch_related(Prefetch("deliveries", parts), "shares__build", "receipts__by")
        .order_by("pk")
    )
    lines = tuple(_line(row, order, today) for row in rows)
    money = total_price([(line.money.net, line.vat_percent) for line in lines], order.vat_level)
    least = order.supplier.minimum_order if order.supplier else NONE
    sent = order.sent_on
    return OrderPage(
        pk=order.pk,
        number=order.number,
        title=f"Order {order.number}",
        version=order.version,
        state=order.state,
        whom=whom_of(order),
        email=order.supplier.email if order.supplier else "",
        phone=order.supplier.phone if order.supplier else "",
        supplier=order.supplier_id,
        build=order.build_id,
        from_customer=order.build_id is not None,
        note=order.note,
        made_on=times.day_of(order.made_at),
        sent_on=sent,
        currency=shop.currency,
        vat_words=order.get_vat_level_display(),
        lines=lines,
        money=money,
        below_minimum=minimum_missing(money.net, least) if lines else NONE,
        longest_lead=max((line.lead_days for line in lines), default=0),
        shop_name=shop.name,
        made_words=_day(sent) if sent else f"A draft of {_day(today)}; not sent yet.",
    )


def _day(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b} {day.year}"


def _line(row: OrderLine, order: Order, today: date) -> LineOfOrder:
    material, unit = row.material, row.material.unit
    by_customer = order.build_id is not None
    parts = tuple(_part(part, unit, today) for part in row.deliveries.all())
    waiting = sum((p.quantity or NONE for p in row.deliveries.all() if not p.arrived_on), NONE)
    came = sum((p.quantity or NONE for p in row.deliveries.all() if p.arrived_on), NONE)
    lead = material.lead_days
    if lead is None:
        lead = material.supplier.lead_days if material.supplier else 0
    return LineOfOrder(
        pk=row.pk,
        material=row.material_id,
        name=row.name,
        code=row.code,
        packs=row.packs,
        words=_packs(row, row.packs, by_customer),
        pack="" if by_customer else pack_words(row.pack, unit),
        for_whom=_for_whom(row, unit),
        price=row.price,
        vat_percent=row.vat_percent,
        money=line_price(row.packs, row.price, row.vat_percent),
        open_packs=packs_for(waiting, row.pack),
        came_packs=int(came / row.pack),
        lead_days=lead,
        is_withdrawn=material.withdrawn,
        parts=parts,
        bookings=tuple(_booking(receipt, row, by_customer) for receipt in row.receipts.all()),
    )


def _packs(row: OrderLine, packs: int, by_customer: bool) -> str:
    if by_customer:
        return in_words(row.pack * packs, row.material.unit)
    return packs_in_words(packs, row.material.form, row.pack, row.material.unit)


def _for_whom(row: OrderLine, unit: str) -> str:
    shares, over = shared_out(row.quantity, [(s.build.name, s.quantity) for s in row.shares.all()])
    named = [*shares, *([(STOCK, over)] if over else [])]
    return ", ".join(f"{whom} {in_words(quantity, unit)}" for whom, quantity in named)


def _part(part: Delivery, unit: str, today: date) -> Part:
    moved = part.first_expected_on if part.first_expected_on != part.expected_on else None
    return Part(
        pk=part.pk,
        version=part.version,
        whom=part.build.name if part.build else STOCK,
        build=part.build_id,
        words=in_words(part.quantity or NONE, unit),
        expected_on=part.expected_on,
        moved_from=moved,
        arrived_on=part.arrived_on,
        on_shelf_on=part.on_shelf_on,
        days_late=0 if part.arrived_on else max(0, (today - part.expected_on).days),
        tasks=tuple(dict.fromkeys(task.name for task in part.tasks.all())),
    )


def _booking(receipt, row: OrderLine, by_customer: bool) -> Booking:
    said = [
        f"{_packs(row, count, by_customer)} {words}"
        for count, words in (
            (receipt.good, "came"),
            (receipt.damaged, "damaged"),
            (receipt.missing, "won’t come"),
        )
        if count
    ]
    return Booking(
        pk=receipt.pk,
        words=", ".join(said),
        note=receipt.note,
        came_on=receipt.came_on,
        at=receipt.at,
        by=str(receipt.by) if receipt.by else "",
        is_taken_back=receipt.taken_back_at is not None,
    )


def materials_to_add(order: OrderPage, offered: Iterable) -> list[tuple[int, str]]:
    """Materials of the order's supplier that are not in it yet."""
    there = {line.material for line in order.lines}
    return [(material.pk, material.name) for material in offered if material.pk not in there]
