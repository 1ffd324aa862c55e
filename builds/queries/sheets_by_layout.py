"""How many sheets the cutting plans take, shared out over the needs they are laid out for.

A board that is laid out is counted in whole sheets, offcuts not among them; one that is not, or whose parts
changed since, is reckoned by its area with waste as before.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, Q

from builds.models import CuttingPlan, Need
from builds.queries.cutting_list import made_of, parts_of

THOUSANDTH = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class ByLayout:
    """What one need takes of the sheets of its layout, in the material's unit, and how that is told."""

    wanted: Decimal
    rule: str


def by_layout(needs: Sequence[Need]) -> dict[int, ByLayout]:
    """For each need of a unit's board that is laid out, by its id; three queries."""
    groups = _groups({need.build_id for need in needs})
    members: dict[int, list[Need]] = defaultdict(list)
    for need in needs:
        group = groups.get((need.material_id, need.build_id))
        if group is not None and need.unit_id is not None and not need.is_typed:
            members[id(group)].append(need)
    by_id = {id(group): group for group in groups.values()}
    found: dict[int, ByLayout] = {}
    for key, rows in members.items():
        found |= _shared_out(by_id[key], rows)
    return found


@dataclass
class _Group:
    """Builds that are laid out together, and how many full sheets of the board they take in all."""

    sheets: int
    builds: set[int]


def _groups(builds: Iterable[int]) -> dict[tuple[int, int], _Group]:
    """By material and build; boards whose newest plan no longer fits their parts are left out."""
    plans = CuttingPlan.objects.filter(builds__in=builds).distinct().prefetch_related("builds")
    plans = list(plans.annotate(full=Count("sheets", filter=Q(sheets__offcut=None), distinct=True)))
    plans.sort(key=lambda plan: plan.pk)
    groups: dict[tuple[int, int], _Group] = {}
    newest: dict[tuple[int, int], CuttingPlan] = {}
    for plan in plans:
        keys = [(plan.material_id, build.pk) for build in plan.builds.all()]
        joined = {id(groups[key]): groups[key] for key in keys if key in groups}
        whole = _Group(
            plan.full + sum(group.sheets for group in joined.values()),
            {build for _, build in keys}.union(*(group.builds for group in joined.values())),
        )
        groups |= {(plan.material_id, build): whole for build in whole.builds}
        newest |= dict.fromkeys(keys, plan)
    stale = _stale({plan.pk: plan for plan in newest.values()}.values())
    gone = {id(groups[key]) for key, plan in newest.items() if plan.pk in stale}
    return {key: group for key, group in groups.items() if id(group) not in gone}


def _stale(plans: Iterable[CuttingPlan]) -> set[int]:
    rows = list(plans)
    parts = parts_of({build.pk for plan in rows for build in plan.builds.all()}) if rows else {}
    by_material = {material.pk: found for material, found in parts.items()}
    stale = set()
    for plan in rows:
        builds = {build.pk for build in plan.builds.all()}
        own = [p for p in by_material.get(plan.material_id, []) if p.unit.build_id in builds]
        if plan.made_of != made_of(own):
            stale.add(plan.pk)
    return stale


def _shared_out(group: _Group, needs: Sequence[Need]) -> dict[int, ByLayout]:
    """The group's sheets over its needs by what each takes; the last takes what rounding leaves."""
    whole = group.sheets * needs[0].material.pack
    total = sum((need.quantity for need in needs), Decimal(0))
    sheets = "1 sheet" if group.sheets == 1 else f"{group.sheets} sheets"
    rule = f"{sheets} by layout" + (
        f", for {len(group.builds)} vans together" if len(group.builds) > 1 else ""
    )
    found, left = {}, whole
    for n, need in enumerate(needs, start=1):
        share = (whole * need.quantity / total).quantize(THOUSANDTH) if total else Decimal(0)
        share = left if n == len(needs) else min(share, left)
        left -= share
        found[need.pk] = ByLayout(share, rule)
    return found
