"""Each need of some builds as one line: how much, by which rule, when first, and what of it is on its way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Prefetch, Q

from builds.engines.material.reckoning import board_mass_kg, with_waste
from builds.models import Material, Need
from builds.queries.covering import Coverage
from builds.queries.opening import OpeningTimes
from builds.queries.quantities import in_words
from builds.queries.sheets_by_layout import ByLayout, by_layout

UNDATED = date.max
USED = ("done", "under way")


@dataclass(frozen=True, slots=True)
class NeedLine:
    """One need of one build.

    `quantity` is what ends up in the van, `wanted` that with its waste, both in the material's unit;
    `left` is what of `wanted` is neither used, here nor on its way; `own` came or comes for its van,
    `from_stock` is meant for it of the stock, `on_order` of what is ordered for stock. `mass_kg` is of
    `quantity`, None where it is not known. `first_use` is when the plan first uses it, None where nothing
    says.
    """

    pk: int
    build: str
    build_pk: int
    owner: str
    material: Material
    quantity: Decimal
    wanted: Decimal
    own: Decimal
    from_stock: Decimal
    on_order: Decimal
    left: Decimal
    waste_percent: Decimal
    rule: str
    mass_kg: Decimal | None
    first_use: date | None
    task: int | None
    used_in: str
    is_used: bool
    is_typed: bool
    customer_supplies: bool
    words: str


@dataclass(frozen=True, slots=True)
class Lines:
    """The needs of some builds, what they use first standing first, and what is left of what covers them."""

    needs: tuple[NeedLine, ...]
    coverage: Coverage


def need_lines(builds: Sequence[int], times: OpeningTimes) -> Lines:
    """Every need of `builds`; six queries. Boards that are laid out count by their sheets.

    What covers them is shared out over all builds in the plan, so that each page counts the stock alike.
    """
    chosen = set(builds)
    bought = Prefetch("material", Material.objects.select_related("supplier"))
    rows = (
        Need.objects.filter(Q(build__in=chosen) | Q(build__status="agreed"))
        .select_related("build", "unit", "installation", "task__planned")
        .prefetch_related(bought)
    )
    dated = sorted(((_first_use(row, times), row) for row in rows), key=_in_order)
    coverage, laid = Coverage(), by_layout([row for _, row in dated if row.material.form == "sheet"])
    lines = [(_line(row, first_use, coverage, laid.get(row.pk)), row.build_id) for first_use, row in dated]
    return Lines(tuple(line for line, build in lines if build in chosen), coverage)


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


def _line(need: Need, first_use: date | None, coverage: Coverage, laid: ByLayout | None) -> NeedLine:
    material = need.material
    wanted = laid.wanted if laid else with_waste(need.quantity, need.waste_percent)
    used = _is_used(need)
    covered = coverage.cover(need, wanted, is_used=used)
    return NeedLine(
        pk=need.pk,
        build=need.build.name,
        owner=_owner(need),
        material=material,
        quantity=need.quantity,
        wanted=wanted,
        own=covered.own,
        from_stock=covered.from_stock,
        on_order=covered.on_order,
        left=covered.left,
        waste_percent=_waste(need.quantity, wanted) if laid else need.waste_percent,
        rule=laid.rule if laid else need.rule,
        mass_kg=mass_of(material, need.quantity),
        first_use=first_use,
        build_pk=need.build_id,
        task=need.task_id,
        used_in=need.task.name if need.task else "",
        is_used=used,
        is_typed=need.is_typed,
        customer_supplies=need.customer_supplies,
        words=in_words(need.quantity, material.unit),
    )


def _waste(quantity: Decimal, wanted: Decimal) -> Decimal:
    """What of whole sheets is more than the parts, in percent; nothing where offcuts gave the parts."""
    more = (wanted / quantity - 1) * 100 if quantity else Decimal(0)
    return max(Decimal(0), more).quantize(Decimal("0.1"))


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
