"""Each need of some builds as one line: how much, by which rule, when first, and what of it is on its way."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from builds.engines.material.reckoning import board_mass_kg, with_waste
from builds.models import Delivery, Material, Need
from builds.queries.opening import OpeningTimes
from builds.queries.quantities import in_words

UNDATED = date.max
USED = ("done", "under way")


@dataclass(frozen=True, slots=True)
class NeedLine:
    """One need of one build.

    `quantity` is what ends up in the van, `wanted` that with its waste, both in the material's unit;
    `left` is what of `wanted` is neither used, here nor on its way. `mass_kg` is of `quantity`, None
    where it is not known. `first_use` is when the plan first uses it, None where nothing says.
    """

    pk: int
    build: str
    owner: str
    material: Material
    quantity: Decimal
    wanted: Decimal
    left: Decimal
    waste_percent: Decimal
    rule: str
    mass_kg: Decimal | None
    first_use: date | None
    used_in: str
    is_used: bool
    is_typed: bool
    customer_supplies: bool
    words: str


def need_lines(builds: Sequence[int], times: OpeningTimes) -> list[NeedLine]:
    """Every need of `builds`, what they use first standing first; two queries."""
    rows = Need.objects.filter(build__in=builds).select_related(
        "build", "unit", "installation", "task__planned", "material__supplier"
    )
    dated = sorted(((_first_use(row, times), row) for row in rows), key=_in_order)
    coming = Coming.read(builds)
    return [_line(row, first_use, coming) for first_use, row in dated]


def _in_order(pair: tuple[date | None, Need]) -> tuple:
    """What is used stands before what is not: deliveries went into it first."""
    first_use, need = pair
    return not _is_used(need), first_use or UNDATED, need.build_id, need.pk


def _is_used(need: Need) -> bool:
    return need.task is not None and need.task.state in USED


def _first_use(need: Need, times: OpeningTimes) -> date | None:
    task = need.task
    if task is None:
        return None
    if task.started_at or task.finished_at:
        return times.day_of(task.started_at or task.finished_at)
    planned = getattr(task, "planned", None)
    return times.day_of(planned.start) if planned else None


class Coming:
    """What was ordered for the builds, here or on its way; each bit is counted for one need only."""

    def __init__(self, rows: Iterable[Delivery]) -> None:
        self._left: dict[tuple, Decimal] = defaultdict(Decimal)
        for row in rows:
            amount = Decimal("Infinity") if row.quantity is None else row.quantity
            self._left[row.build_id, row.material_id, row.from_customer] += amount

    @classmethod
    def read(cls, builds: Sequence[int]) -> Coming:
        """Deliveries for these builds and those for the shop at large; one without a quantity is enough."""
        rows = Delivery.objects.exclude(material=None)
        return cls([row for row in rows if row.build_id is None or row.build_id in set(builds)])

    def not_covered(self, need: Need, wanted: Decimal) -> Decimal:
        """Takes what it can for `need` from what is coming and gives what is still lacking."""
        for build in (need.build_id, None):
            at = (build, need.material_id, need.customer_supplies)
            taken = min(wanted, self._left.get(at, Decimal(0)))
            if taken:
                self._left[at] -= taken
                wanted -= taken
        return wanted


def _line(need: Need, first_use: date | None, coming: Coming) -> NeedLine:
    material = need.material
    wanted = with_waste(need.quantity, need.waste_percent)
    lacking = coming.not_covered(need, wanted)
    used = _is_used(need)
    return NeedLine(
        pk=need.pk,
        build=need.build.name,
        owner=_owner(need),
        material=material,
        quantity=need.quantity,
        wanted=wanted,
        left=Decimal(0) if used else lacking,
        waste_percent=need.waste_percent,
        rule=need.rule,
        mass_kg=mass_of(material, need.quantity),
        first_use=first_use,
        used_in=need.task.name if need.task else "",
        is_used=used,
        is_typed=need.is_typed,
        customer_supplies=need.customer_supplies,
        words=in_words(need.quantity, material.unit),
    )


def _owner(need: Need) -> str:
    owner = need.unit or need.installation
    return owner.name if owner else "Whole van"


def mass_of(material: Material, quantity: Decimal) -> Decimal | None:
    """Mass by area, thickness and density, or by the unit's mass; None where neither is known."""
    if material.unit == "m**2" and material.thickness_mm and material.density_kg_m3:
        return board_mass_kg(quantity, material.thickness_mm, material.density_kg_m3)
    if material.unit_mass_kg is not None:
        return quantity * material.unit_mass_kg
    return quantity if material.unit == "kg" else None
