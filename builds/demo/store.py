"""The demo's store: what lies in stock, the offcuts that were kept, orders in every state. All invented."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal

from builds.actions.deliveries import put_on_shelf
from builds.actions.materials import change_material
from builds.actions.needs import set_customer_supplies
from builds.actions.offcuts import correct_offcut, keep_offcut, throw_out_offcut, use_offcut
from builds.actions.orders import make_order, send_order
from builds.actions.receipts import Came, book_in
from builds.actions.stock import count_stock, take_from_stock
from builds.models import Build, Delivery, Material, Need, Offcut, Order, Shop, Supplier, User
from builds.queries.opening import opening_times
from builds.reports.order import order_paper

COUNTED = (
    # material, how much, where it lies, order below, then up to
    ("screws", "600", "Rack A, bin 3", 400, 1000),
    ("rivet_nuts", "90", "Rack A, bin 7", 50, 150),
    ("sealant", "2.32 l", "Chemical cupboard", Decimal("0.87"), Decimal("2.9")),
    ("wood_glue", "1.4 l", "Chemical cupboard", 1, 3),
    ("discs", "80", "Rack B, drawer 2", 50, 150),
    ("batten", "9.6 m", "Timber rack, top", None, None),
    ("ply12", "5.954 m²", "Board rack, slot 2", None, None),
    ("foil_tape", "30 m", "Rack B, drawer 5", None, None),
)
KEPT = (
    # material, length along the grain, width, where it lies, left over from
    ("ply15", 980, 610, "Board rack, slot 4", "Heron"),
    ("ply12", 1180, 720, "Board rack, slot 4", "Heron"),
    ("ply12", 760, 415, "Board rack, slot 5", "Kestrel"),
    ("ply9", 1210, 600, "Board rack, slot 4", "Kestrel"),
    ("ply4", 1440, 605, "Board rack, slot 1", "Kestrel"),
    ("top27", 1130, 640, "Rack over the bench", "Heron"),
    ("batten", 1450, None, "Timber rack, short ends", ""),
    ("strip6", 1210, None, "Timber rack, short ends", "Heron"),
)


@dataclass(frozen=True)
class Asked:
    """An order of all that was left of a supplier: sent and expected so many days from today.

    `came` is when it was booked in; of each line in `short`, by material, so many packs came good and
    damaged, the rest in `rest` days.
    """

    supplier: str
    sent: int
    expected: int
    came: int | None = None
    short: Mapping[str, tuple[int, int]] | None = None
    rest: int = 0


ORDERS = (
    Asked("Ember Heat", sent=-30, expected=-9, came=-8),
    Asked("Downland Insulation", sent=-17, expected=-11, came=-11),
    Asked("Sawpit Boards", sent=-16, expected=-6, came=-6, short={"top27": (1, 1)}, rest=5),
    Asked("Lantern Windows", sent=-20, expected=1, came=None),
    Asked(
        "Quay Coatings", sent=-12, expected=-5, came=-4, short={"primer": (3, 1), "topcoat": (6, 0)}, rest=3
    ),
    Asked("Copperline Electrics", sent=-18, expected=-3),
    Asked("Brook Plumbing", sent=-9, expected=6),
)
DRAFT = "Ironside Fittings"


def fill_store(builds: Mapping[str, Build], owner: User, now: datetime) -> None:
    """Counts, keeps, orders and books in, as if it had been done on the days before `now`."""
    times = opening_times()

    def at(days: int, hour: int = 9) -> datetime:
        """That many days from today, on the next open day before it; never later than now."""
        day = now.date() + timedelta(days=days)
        while days < 0 and not times.is_open(day):
            day -= timedelta(days=1)
        return min(now, datetime.combine(day, time(hour), tzinfo=now.tzinfo))

    _customers_bring(builds, owner, at)
    _stock(builds, owner, at)
    _offcuts(builds, owner, at)
    for asked in ORDERS:
        _order(asked, owner, at, now.date())
    _ask_customer(builds["Plover"], owner, at, now.date())
    make_order(supplier=Supplier.objects.get(name=DRAFT), now=at(0, 8), by=owner)


At = Callable[..., datetime]


def _customers_bring(builds: Mapping[str, Build], owner: User, at: At) -> None:
    for key in ("sink", "hob"):
        for need in Need.objects.filter(build=builds["Plover"], material__key=key):
            set_customer_supplies(need=need, yes=True, now=at(-15), by=owner)


def _stock(builds: Mapping[str, Build], owner: User, at: At) -> None:
    for key, quantity, place, below, up_to in COUNTED:
        material = Material.objects.get(key=key)
        if below is not None:
            fields = {"reorder_level": Decimal(below), "top_up_to": Decimal(up_to)}
            change_material(material=material, fields=fields, now=at(-28), by=owner)
        count_stock(material=material, quantity=quantity, place=place, now=at(-27), by=owner)
    screws, glue, sealant = (Material.objects.get(key=key) for key in ("screws", "wood_glue", "sealant"))
    take_from_stock(material=screws, quantity="120", build=builds["Heron"], now=at(-19), by=owner)
    take_from_stock(material=sealant, quantity="0.58 l", build=builds["Kestrel"], now=at(-16), by=owner)
    take_from_stock(
        material=glue,
        quantity="0.6 l",
        build=None,
        kind="lost",
        why="left open, gone off",
        now=at(-12),
        by=owner,
    )
    count_stock(material=screws, quantity="450", why="Friday count", now=at(-6, 15), by=owner)


def _offcuts(builds: Mapping[str, Build], owner: User, at: At) -> None:
    kept: list[Offcut] = []
    for day, (key, length, width, lies, left_from) in enumerate(KEPT):
        kept.append(
            keep_offcut(
                material=Material.objects.get(key=key),
                length_mm=length,
                width_mm=width,
                lies=lies,
                cut_for=builds.get(left_from),
                now=at(day * 2 - 24, 16),
                by=owner,
            )
        )
    correct_offcut(
        offcut=kept[0],
        length_mm=980,
        width_mm=540,
        lies=kept[0].lies,
        why="a strip came off",
        now=at(-9),
        by=owner,
    )
    correct_offcut(
        offcut=kept[5], length_mm=1130, width_mm=640, lies="Board rack, slot 5", now=at(-7), by=owner
    )
    use_offcut(offcut=kept[7], build=builds["Kestrel"], now=at(-5), by=owner)
    throw_out_offcut(offcut=kept[3], why="a corner split", now=at(-4), by=owner)


def _order(asked: Asked, owner: User, at: At, today: date) -> None:
    sent = at(asked.sent)
    order = make_order(supplier=Supplier.objects.get(name=asked.supplier), now=sent, by=owner)
    _send(order, sent, today + timedelta(days=asked.expected), owner)
    if asked.came is None:
        return
    came_at, short = at(asked.came), asked.short or {}
    whole, part = {}, {}
    for line in order.lines.select_related("material"):
        good, damaged = short.get(line.material.key, (line.packs, 0))
        good = min(good, line.packs)
        found = Came(good, min(damaged, line.packs - good))
        (part if line.material.key in short else whole)[line.pk] = found
    rest_on = today + timedelta(days=asked.rest) if short else None
    for came, note in ((whole, ""), (part, "one dented, the rest is to follow")):
        if came:
            book_in(
                order=order,
                came=came,
                came_on=came_at.date(),
                rest_on=rest_on,
                note=note,
                now=came_at,
                by=owner,
            )
    arrived = Delivery.objects.filter(line__order=order, on_shelf_on=None).exclude(arrived_on=None)
    for row in arrived.exclude(build=None):
        put_on_shelf(delivery=row, on=came_at.date(), now=came_at, by=owner)


def _ask_customer(build: Build, owner: User, at: At, today: date) -> None:
    order = make_order(customer_of=build, now=at(-8), by=owner)
    _send(order, at(-8), today + timedelta(days=12), owner)


def _send(order: Order, sent: datetime, expected_on: date, owner: User) -> None:
    found = Order.objects.select_related("supplier", "build").get(pk=order.pk)
    paper = order_paper(found, sent, shop=Shop.objects.get(), sent_on=sent.date())
    send_order(
        order=order,
        sent_on=sent.date(),
        paper=paper,
        expected_on=max(expected_on, sent.date()),
        now=sent,
        by=owner,
    )
