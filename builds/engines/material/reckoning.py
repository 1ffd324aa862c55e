"""From a need to packs, price and mass: spreading rates, waste, packs rounded up, VAT half up."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

PENNY = Decimal("0.01")


def litres_for(area_m2: float, coats: int, spread_m2_per_litre: float) -> float:
    """Litres of paint for an area.

    Source: spreading rate = m²/l = solids % x 10 / dry film in µm, coating handbooks. Raises
    ValueError for a rate or a number of coats that is not above zero.
    """
    if coats < 1 or spread_m2_per_litre <= 0:
        raise ValueError("coats and spreading rate have to be above zero")
    return area_m2 * coats / spread_m2_per_litre


def spreading_rate(solids_percent: float, dry_film_um: float) -> float:
    """Square metres a litre covers. Source: coating handbooks (solids % x 10 / dry film in µm)."""
    return solids_percent * 10 / dry_film_um


def cartridges_for(bead_m: float, section_mm2: float, cartridge_ml: float) -> float:
    """Cartridges for a bead of that length and section; 1 mm² along 1 m is 1 ml."""
    return bead_m * section_mm2 / cartridge_ml


def with_waste(quantity: Decimal, waste_percent: Decimal) -> Decimal:
    """The quantity with its waste allowance, to a thousandth."""
    return (quantity * (1 + waste_percent / 100)).quantize(Decimal("0.001"), ROUND_HALF_UP)


def packs_for(quantity: Decimal, pack: Decimal) -> int:
    """Whole packs that hold the quantity; none for none. Raises ValueError for a pack of nothing."""
    if pack <= 0:
        raise ValueError("a pack has to hold something")
    return math.ceil(quantity / pack) if quantity > 0 else 0


@dataclass(frozen=True, slots=True)
class Money:
    """A price without VAT, its VAT and both together, to the penny."""

    net: Decimal
    vat: Decimal

    @property
    def gross(self) -> Decimal:
        return self.net + self.vat


def vat_of(net: Decimal, percent: Decimal) -> Decimal:
    """VAT on a net sum, half a penny up. Source: HMRC manual VATREC12030."""
    return (net * percent / 100).quantize(PENNY, ROUND_HALF_UP)


def line_price(packs: int, price: Decimal, vat_percent: Decimal) -> Money:
    net = (price * packs).quantize(PENNY, ROUND_HALF_UP)
    return Money(net, vat_of(net, vat_percent))


def total_price(lines: Iterable[tuple[Decimal, Decimal]], level: str) -> Money:
    """Totals (net, VAT percent) lines with VAT reckoned "line" by line or on the "invoice" total.

    The two may differ by a penny a line; the shop stores which it uses. Raises ValueError for
    another level.
    """
    rows = list(lines)
    net = sum((n for n, _ in rows), Decimal(0))
    if level == "line":
        return Money(net, sum((vat_of(n, p) for n, p in rows), Decimal(0)))
    if level != "invoice":
        raise ValueError(f"VAT is reckoned by line or by invoice, not by {level}")
    by_rate: dict[Decimal, Decimal] = {}
    for n, percent in rows:
        by_rate[percent] = by_rate.get(percent, Decimal(0)) + n
    return Money(net, sum((vat_of(n, p) for p, n in by_rate.items()), Decimal(0)))


def board_mass_kg(area_m2: Decimal, thickness_mm: Decimal, density_kg_m3: int) -> Decimal:
    """Mass of a board from its area, thickness and density."""
    return (area_m2 * thickness_mm / 1000 * density_kg_m3).quantize(Decimal("0.01"), ROUND_HALF_UP)


def minimum_missing(net: Decimal, minimum: Decimal) -> Decimal:
    """What an order lacks to reach a supplier's minimum; 0 when it is reached."""
    return max(Decimal(0), minimum - net)
