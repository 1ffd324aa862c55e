"""What a build needs of each material: reckoned from what goes into it, or typed in."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from builds.actions.door import Gone, Refused, note_in_journal, write
from builds.actions.needs_of_parts import (
    RULE,
    first_used_in,
    measures_of_parts,
    parts_by_unit,
    quantities_of,
    standards_beside,
)
from builds.engines.material.measures import installation_measures, unit_measures, van_measures
from builds.engines.material.reckoning import litres_for
from builds.models import (
    Build,
    Installation,
    Material,
    Need,
    StandardNeed,
    Task,
    Unit,
    UnitKind,
    User,
)
from builds.queries.quantities import typed_quantity

MOST = Decimal(100000)
TYPED_IN = "typed in"
Owner = Unit | Installation


def reckon_needs(*, build: Build, now: datetime, by: User | None) -> int:
    """Reckons anew what the build needs; what was typed in and what the customer brings stays so."""
    with write(plan=False):
        return reckon(build)


def reckon(build: Build) -> int:
    """Brings the reckoned needs in step with what stands in the build. Call inside a write."""
    wanted = {_mark(need): need for need in _wanted(build)}
    for old in Need.objects.filter(build=build).select_related("unit", "installation"):
        new = wanted.pop(_mark(old), None)
        if old.is_typed and not _owner_is_out(old):
            continue
        if new is None:
            old.delete()
        elif (new.quantity, new.waste_percent, new.task_id) != (old.quantity, old.waste_percent, old.task_id):
            old.quantity, old.waste_percent, old.task = new.quantity, new.waste_percent, new.task
            old.save(update_fields=["quantity", "waste_percent", "task"])
    Need.objects.bulk_create(need for need in wanted.values() if not need.material.withdrawn)
    return Need.objects.filter(build=build).count()


def _owner_is_out(need: Need) -> bool:
    owner = need.unit or need.installation
    return owner is not None and owner.removed_at is not None


def add_need(
    *,
    build: Build,
    material: Material,
    quantity: str,
    task: Task | None = None,
    customer_supplies: bool = False,
    token: UUID | None = None,
    now: datetime,
    by: User | None,
) -> Need:
    """Adds a need by hand; `quantity` as typed, "2400 mm" or "3". The same form twice adds one."""
    with write(plan=False):
        known = Need.objects.filter(form_token=token).first() if token else None
        if known is not None:
            return known
        if material.withdrawn:
            raise Refused(f"{material.name} is withdrawn. Choose another material.", field="material")
        _refuse_task_of_another(task, build)
        need = Need(
            build=build,
            material=material,
            quantity=_read(quantity, material),
            waste_percent=Decimal(0),
            task=task,
            rule=TYPED_IN,
            is_typed=True,
            customer_supplies=customer_supplies,
            form_token=token,
        )
        need.save()
        note_in_journal(f"Needs {quantity.strip()} of {material.name}", now=now, by=by, build=build)
        return need


def change_need(
    *,
    need: Need,
    quantity: str,
    task: Task | None,
    customer_supplies: bool,
    now: datetime,
    by: User | None,
) -> None:
    """Puts another quantity, first use or bringer to a need.

    A reckoned one with another quantity or first use counts as typed in from then on: reckoning leaves
    it as it is until it is removed. Refused where the quantity can't be read.
    """
    with write(plan=False):
        row = _fresh(need)
        _refuse_task_of_another(task, row.build)
        amount = _read(quantity, row.material)
        if (amount, task) != (row.quantity, row.task):
            row.quantity, row.task, row.is_typed = amount, task, True
        row.customer_supplies = customer_supplies
        row.save()
        words = f"Needs {quantity.strip()} of {row.material.name}"
        if customer_supplies:
            words += ", which the customer brings"
        note_in_journal(words, now=now, by=by, build=row.build)


def set_customer_supplies(*, need: Need, yes: bool, now: datetime, by: User | None) -> None:
    """Says that the customer brings it: it is counted and dated, without a price."""
    with write(plan=False):
        row = _fresh(need)
        row.customer_supplies = yes
        row.save(update_fields=["customer_supplies"])
        words = "The customer brings" if yes else "The shop buys"
        note_in_journal(f"{words} {row.material.name}", now=now, by=by, build=row.build)


def remove_need(*, need: Need, now: datetime, by: User | None) -> None:
    """Takes away what was typed in; of a need changed by hand the reckoned one comes back."""
    with write(plan=False):
        row = _fresh(need)
        if not row.is_typed:
            raise Refused("This is reckoned from what goes into the build. Change that instead.")
        row.delete()
        reckon(row.build)
        note_in_journal(f"No longer needs {row.material.name} as typed", now=now, by=by, build=row.build)


def _refuse_task_of_another(task: Task | None, build: Build) -> None:
    if task is not None and task.build_id != build.pk:
        raise Refused("That task is of another build.", field="task")


def _read(text: str, material: Material) -> Decimal:
    try:
        found = typed_quantity(text, material.unit).quantize(Decimal("0.001"))
    except ValueError as error:
        raise Refused(str(error), field="quantity") from None
    if not 0 < found <= MOST:
        raise Refused("A quantity is more than nothing and at most 100,000.", field="quantity")
    return found


def _fresh(need: Need) -> Need:
    row = Need.objects.select_related("build", "material").filter(pk=need.pk).first()
    if row is None:
        raise Gone("That need is not there any more.")
    return row


def _mark(need: Need) -> tuple:
    return need.unit_id, need.installation_id, need.material_id, need.used_in, need.rule


def _wanted(build: Build) -> Iterable[Need]:
    """What the standard needs come to for all that stands in the build, and for its work."""
    standards: dict[str, list[StandardNeed]] = defaultdict(list)
    for row in StandardNeed.objects.select_related("material"):
        standards[row.owner].append(row)
    kinds = {kind.key: kind for kind in UnitKind.objects.all()}
    tasks = _tasks(build)
    van = _van(build)
    parts = parts_by_unit(build)
    for unit in build.units.all():
        kind = kinds.get(unit.kind)
        if kind is not None:
            rows, measures = standards[f"unit:{unit.kind}"], van | _of_unit(unit, kind)
            of_unit = parts.get(unit.pk, ())
            if of_unit:
                yield from _needs_of_parts(build, unit, rows, of_unit, tasks)
                rows = standards_beside(rows, of_unit)
                measures |= measures_of_parts(of_unit, kind.coated_faces)
            yield from _needs(build, unit, rows, measures, tasks)
    for row in build.installations.all():
        measures = van | installation_measures(row.count)
        yield from _needs(build, row, standards[f"installation:{row.kind}"], measures, tasks)
    if tasks:
        yield from _needs(build, None, standards["van"], van | {"each": 1.0}, tasks)
    yield from _of_tasks(build, standards, van, tasks)


def _needs_of_parts(build: Build, unit: Unit, rows, parts, tasks) -> Iterable[Need]:
    """A unit's boards and strips by its parts, but for those the owner put another quantity to."""
    by_hand = Need.objects.filter(unit=unit, is_typed=True).exclude(rule=TYPED_IN)
    settled = set(by_hand.values_list("material", flat=True))
    for material, quantity in quantities_of(parts).items():
        if material.pk not in settled and quantity > 0:
            used_in = first_used_in(rows, material)
            yield Need(
                build=build,
                material=material,
                quantity=quantity,
                waste_percent=material.waste_percent,
                task=_first_use(used_in, unit, tasks),
                rule=RULE,
                used_in=used_in,
                unit=unit,
            )


def _of_tasks(build: Build, standards, van: Mapping[str, float], tasks) -> Iterable[Need]:
    """What a standard task needs wherever it comes: its own uses, once for each task of that kind."""
    for (key, *_), task in tasks.items():
        for need in _needs(build, None, standards[f"task:{key}"], van | {"each": 1.0}, tasks):
            need.unit_id, need.installation_id, need.task = task.unit_id, task.installation_id, task
            need.used_in = key
            yield need


def _of_unit(unit: Unit, kind: UnitKind) -> Mapping[str, float]:
    return unit_measures(
        unit.width_mm,
        unit.depth_mm,
        unit.height_mm,
        board_share=float(kind.board_share),
        coated_faces=kind.coated_faces,
    )


def _van(build: Build) -> dict[str, float]:
    sizes = (build.load_length_mm, build.load_width_mm, build.load_height_mm)
    return dict(van_measures(*sizes)) if all(sizes) else {}


def _needs(
    build: Build, owner: Owner | None, standards, measures: Mapping[str, float], tasks
) -> Iterable[Need]:
    unit = owner if isinstance(owner, Unit) else None
    installation = owner if isinstance(owner, Installation) else None
    for row in standards:
        if row.per not in measures:
            continue
        quantity = _quantity(row, measures[row.per])
        if quantity > 0:
            yield Need(
                build=build,
                material=row.material,
                quantity=quantity,
                waste_percent=row.material.waste_percent,
                task=_first_use(row.used_in, owner, tasks),
                rule=row.rule,
                used_in=row.used_in,
                unit=unit,
                installation=installation,
            )


def _quantity(row: StandardNeed, measure: float) -> Decimal:
    amount = float(row.quantity) * measure
    material = row.material
    if material.form == "liquid" and material.spread_m2_per_litre and row.per.endswith("_m2"):
        amount = litres_for(amount, material.coats or 1, float(material.spread_m2_per_litre))
    return Decimal(str(round(amount, 3)))


def _tasks(build: Build) -> dict[tuple, Task]:
    """Tasks by standard key and owner; those of the van as a whole under the owner None."""
    rows = Task.objects.kept().filter(build=build).exclude(standard="").order_by("-order")
    return {(t.standard, t.unit_id, t.installation_id): t for t in rows}


def _first_use(standard: str, owner: Owner | None, tasks: dict[tuple, Task]) -> Task | None:
    unit = owner.pk if isinstance(owner, Unit) else None
    installation = owner.pk if isinstance(owner, Installation) else None
    exact = tasks.get((standard, unit, installation)) or tasks.get((standard, None, None))
    if exact is not None or not standard:
        return exact
    same = [t for (key, _, _), t in tasks.items() if key == standard]
    return min(same, key=lambda t: t.order, default=None)
