"""What is on its way and what the customer still has to decide, over all vans; late things first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import Prefetch, Q
from django.utils import timezone

from builds.models import Build, Decision, Delivery, Material, Task

SOON_DAYS = 7
SHELF_DAYS = 14
GONE = ("dropped", "handed over")
GROUPS = (
    ("late", "Late"),
    ("soon", "Due within a week"),
    ("later", "Later"),
    ("here", "Here, not yet found and on the shelf"),
    ("shelf", "On the kit shelf in the last two weeks"),
)


@dataclass(frozen=True)
class DeliveryLine:
    """One delivery. `first_start` is when the first task that waits for it is planned."""

    pk: int
    version: int
    what: str
    source: str
    quantity: Decimal | None
    unit: str
    note: str
    build: int | None
    build_name: str
    expected_on: date
    moved_from: date | None
    arrived_on: date | None
    on_shelf_on: date | None
    days_late: int
    tasks: tuple[str, ...]
    first_start: date | None


@dataclass(frozen=True)
class DeliveryGroup:
    key: str
    title: str
    lines: tuple[DeliveryLine, ...]


@dataclass(frozen=True)
class DecisionLine:
    pk: int
    what: str
    build: int
    build_name: str
    needed_by: date
    days_late: int
    decided_on: date | None
    answer: str
    tasks: tuple[str, ...]
    first_start: date | None


@dataclass(frozen=True)
class TaskChoice:
    pk: int
    name: str
    planned_on: date | None


@dataclass(frozen=True)
class TaskGroup:
    """The tasks of one unit or installation, or of the whole van."""

    name: str
    tasks: tuple[TaskChoice, ...]


def delivery_groups(today: date, *, build: int | None = None) -> tuple[DeliveryGroup, ...]:
    """Deliveries by what they need of somebody, late ones first; groups without any are left out.

    Two queries. Those of one van only where `build` is given.
    """
    rows = Delivery.objects.exclude(build__status__in=GONE).exclude(
        on_shelf_on__lt=today - timedelta(days=SHELF_DAYS)
    )
    if build is not None:
        rows = rows.filter(build_id=build)
    found: dict[str, list[DeliveryLine]] = {key: [] for key, _ in GROUPS}
    for row in rows.select_related("build", "supplier", "material").prefetch_related(_waiting()):
        found[_group(row, today)].append(delivery_line(row, today))
    return tuple(DeliveryGroup(key, title, tuple(found[key])) for key, title in GROUPS if found[key])


def _waiting() -> Prefetch:
    return Prefetch("tasks", Task.objects.unfinished().select_related("planned"))


def _group(row: Delivery, today: date) -> str:
    if row.on_shelf_on:
        return "shelf"
    if row.arrived_on:
        return "here"
    if row.expected_on < today:
        return "late"
    return "soon" if row.expected_on <= today + timedelta(days=SOON_DAYS) else "later"


def delivery_line(row: Delivery, today: date) -> DeliveryLine:
    tasks = list(row.tasks.all())
    here = row.arrived_on is not None or row.on_shelf_on is not None
    moved = row.first_expected_on if row.first_expected_on != row.expected_on else None
    return DeliveryLine(
        pk=row.pk,
        version=row.version,
        what=row.what,
        source="the customer brings it" if row.from_customer else row.supplier.name if row.supplier else "",
        quantity=row.quantity,
        unit=_unit(row.material),
        note=row.note,
        build=row.build_id,
        build_name=row.build.name if row.build else "",
        expected_on=row.expected_on,
        moved_from=moved,
        arrived_on=row.arrived_on,
        on_shelf_on=row.on_shelf_on,
        days_late=0 if here else max(0, (today - row.expected_on).days),
        tasks=tuple(task.name for task in tasks),
        first_start=_first_start(tasks),
    )


def _unit(material: Material | None) -> str:
    unit = material.get_unit_display() if material else ""
    return "" if unit == "piece" else unit


def _first_start(tasks: Iterable[Task]) -> date | None:
    starts = [task.planned.start for task in tasks if hasattr(task, "planned")]
    return timezone.localdate(min(starts)) if starts else None


def decision_lines(today: date) -> tuple[tuple[DecisionLine, ...], tuple[DecisionLine, ...]]:
    """Open questions, the longest overdue first, and those answered in the last two weeks; two queries."""
    rows = Decision.objects.exclude(build__status__in=GONE).filter(
        Q(decided_on=None) | Q(decided_on__gte=today - timedelta(days=SHELF_DAYS))
    )
    rows = rows.select_related("build").prefetch_related(_waiting()).order_by("needed_by", "pk")
    lines = [decision_line(row, today) for row in rows]
    return (
        tuple(line for line in lines if line.decided_on is None),
        tuple(line for line in lines if line.decided_on is not None),
    )


def decision_line(row: Decision, today: date) -> DecisionLine:
    tasks = list(row.tasks.all())
    return DecisionLine(
        pk=row.pk,
        what=row.what,
        build=row.build_id,
        build_name=row.build.name,
        needed_by=row.needed_by,
        days_late=0 if row.decided_on else max(0, (today - row.needed_by).days),
        decided_on=row.decided_on,
        answer=row.answer,
        tasks=tuple(task.name for task in tasks),
        first_start=_first_start(tasks),
    )


def vans_to_choose() -> list[tuple[int, str]]:
    """Builds that something may come for."""
    return list(Build.objects.exclude(status__in=GONE).order_by("name").values_list("pk", "name"))


def task_groups(build: Build, chosen: Iterable[int] = ()) -> tuple[TaskGroup, ...]:
    """The van's tasks that may wait for something, by unit and installation; one query.

    Those not begun, and those already chosen.
    """
    may = Q(state="to do") | Q(pk__in=list(chosen))
    rows = Task.objects.kept().filter(may, build=build)
    groups: dict[str, list[TaskChoice]] = {}
    for task in rows.select_related("unit", "installation", "planned").order_by("order", "pk"):
        planned_on = _first_start([task])
        groups.setdefault(task.group_name, []).append(TaskChoice(task.pk, task.name, planned_on))
    return tuple(TaskGroup(name, tuple(tasks)) for name, tasks in groups.items())
