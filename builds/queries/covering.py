"""What covers the needs of the vans: what came or is coming for each, the stock, what is ordered for stock.

Each bit is counted for one need only. What a van has of its own goes first; the stock and what is on
order for it go to whoever uses it first.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import (
    BooleanField,
    Case,
    CharField,
    DecimalField,
    IntegerField,
    Q,
    Sum,
    Value,
    When,
)

from builds.engines.material.sharing import shared_out
from builds.models import Delivery, Need, OrderLine, StockMovement

NONE = Decimal(0)
ENOUGH = Decimal("Infinity")
FOR_THE_VAN = ("taken", "cut", "back")
"""Movements with a van named that change what the van has; what is lost is neither's."""


@dataclass(frozen=True, slots=True)
class Covered:
    """How one need is covered; `left` is what is still to order."""

    own: Decimal
    from_stock: Decimal
    on_order: Decimal
    left: Decimal


@dataclass(frozen=True, slots=True)
class StockFigures:
    """The shop's stock of one material: on the record, for whom it is meant, on its way, and what is free."""

    on_hand: Decimal = NONE
    reserved: Decimal = NONE
    on_order: Decimal = NONE
    spoken_for: Decimal = NONE

    @property
    def free(self) -> Decimal:
        """What nobody needs of the stock and of what is on order for it."""
        return self.on_hand - self.reserved + self.on_order - self.spoken_for


@dataclass(slots=True)
class DraftLine:
    """A line of an order not sent yet; `wanted` is (share, van, how much), the lowest share served first."""

    material: int
    quantity: Decimal
    from_customer: bool
    wanted: list[tuple[int, int, Decimal]]


class Coverage:
    """Hands out what there is, need by need; call `cover` in the order of first use. One query."""

    def __init__(self) -> None:
        self.own: dict[tuple[int, int, bool], Decimal] = defaultdict(Decimal)
        self.on_hand: dict[int, Decimal] = defaultdict(Decimal)
        self.on_order: dict[int, Decimal] = defaultdict(Decimal)
        self.reserved: dict[int, Decimal] = defaultdict(Decimal)
        self.spoken_for: dict[int, Decimal] = defaultdict(Decimal)
        drafts: dict[int, DraftLine] = {}
        for kind, line, material, build, from_customer, amount, packs, pack, share in _rows():
            if kind == "draft":
                draft = drafts.setdefault(line, DraftLine(material, packs * pack, from_customer, []))
                if build is not None:
                    draft.wanted.append((share, build, amount))
            elif kind == "delivery":
                self._expect(material, build, from_customer, ENOUGH if amount is None else amount)
            else:
                self._move(kind, material, build, amount)
        for draft in drafts.values():
            self._promise(draft)

    def _expect(self, material: int, build: int | None, from_customer: bool, amount: Decimal) -> None:
        if build is None:
            self.on_order[material] += amount
        else:
            self.own[build, material, from_customer] += amount

    def _move(self, kind: str, material: int, build: int | None, change: Decimal) -> None:
        self.on_hand[material] += change
        if build is not None and kind in FOR_THE_VAN:
            self.own[build, material, False] -= change

    def _promise(self, draft: DraftLine) -> None:
        """What stands in an order not sent yet is on no delivery, and still not to be ordered again."""
        wanted = [(build, amount) for _, build, amount in sorted(draft.wanted)]
        shares, over = shared_out(draft.quantity, wanted)
        for build, share in shares:
            self.own[build, draft.material, draft.from_customer] += share
        self.on_order[draft.material] += over

    def cover(self, need: Need, wanted: Decimal, *, is_used: bool) -> Covered:
        """Takes for `need` what it can. What is used already takes from its van's own only."""
        own = _take(self.own, (need.build_id, need.material_id, need.customer_supplies), wanted)
        left = wanted - own
        if is_used or need.customer_supplies:
            return Covered(own, NONE, NONE, NONE if is_used else left)
        material = need.material_id
        there = max(NONE, self.on_hand.get(material, NONE)) - self.reserved[material]
        from_stock = min(left, there)
        self.reserved[material] += from_stock
        left -= from_stock
        coming = self.on_order.get(material, NONE) - self.spoken_for[material]
        on_order = min(left, coming)
        self.spoken_for[material] += on_order
        return Covered(own, from_stock, on_order, left - on_order)

    def stock_of(self, material: int) -> StockFigures:
        """As it stands after all needs were covered."""
        return StockFigures(
            on_hand=self.on_hand.get(material, NONE),
            reserved=self.reserved.get(material, NONE),
            on_order=self.on_order.get(material, NONE),
            spoken_for=self.spoken_for.get(material, NONE),
        )


def _rows() -> Iterable[tuple]:
    """Lines of orders not sent yet, deliveries and movements, in one query.

    A delivery without a quantity is enough. What came for the shop at large is in the movements. The
    lines stand first: by them PostgreSQL knows what the empty columns of the others are.
    """
    number, amount = Value(None, IntegerField()), Value(None, DecimalField(max_digits=12, decimal_places=3))
    of_customer = Case(
        When(order__build=None, then=Value(False)), default=Value(True), output_field=BooleanField()
    )
    came = Q(build=None, arrived_on__isnull=False, quantity__isnull=False)
    lines = OrderLine.objects.filter(order__state="draft").order_by()
    deliveries = Delivery.objects.exclude(material=None).exclude(came).order_by()
    movements = StockMovement.objects.order_by().values("material", "build", "kind")
    shares = ("shares__build", of_customer, "shares__quantity", "packs", "pack", "shares__pk")
    return lines.values_list(Value("draft", CharField()), "pk", "material", *shares).union(
        deliveries.values_list(
            Value("delivery"), "pk", "material", "build", "from_customer", "quantity", number, amount, number
        ),
        movements.annotate(moved=Sum("change")).values_list(
            "kind", number, "material", "build", Value(False), "moved", number, amount, number
        ),
        all=True,
    )


def _take(pool: dict, key: tuple, wanted: Decimal) -> Decimal:
    taken = min(wanted, max(NONE, pool.get(key, NONE)))
    if taken:
        pool[key] -= taken
    return taken
