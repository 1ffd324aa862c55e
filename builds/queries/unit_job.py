"""One unit's job as a scanned label opens it: its work, its parts and what was photographed behind it."""

from __future__ import annotations

from dataclasses import dataclass

from builds.models import Part, Person, Task, Unit
from builds.queries.evidence import PlaceInVan, photos_by_place
from builds.queries.sheet_drawing import size_words
from builds.queries.unit_drawing import UnitDrawing
from builds.queries.unit_page import drawing_of


@dataclass(frozen=True)
class UnitTask:
    pk: int
    name: str
    state: str
    people: tuple[str, ...]


@dataclass(frozen=True)
class UnitPart:
    name: str
    count: int
    size: str
    board: str


@dataclass(frozen=True)
class UnitJob:
    """`is_out` tells that the unit was taken out of its van again."""

    name: str
    van: str
    size: str
    stands: str
    is_out: bool
    tasks: tuple[UnitTask, ...]
    parts: tuple[UnitPart, ...]
    people: tuple[Person, ...]
    places: tuple[PlaceInVan, ...]
    drawing: UnitDrawing | None


def unit_job(pk: int) -> UnitJob | None:
    """The unit's tasks in order, its drawing and parts; None when there is no such unit in a van in work."""
    unit = Unit.ever.select_related("build", "making").filter(pk=pk, build__status="agreed").first()
    if unit is None:
        return None
    people = list(Person.objects.working())
    names = {person.pk: person.name for person in people}
    tasks = Task.objects.kept().filter(unit=unit).select_related("planned").order_by("order", "pk")
    parts = Part.objects.filter(unit=unit).select_related("material")
    return UnitJob(
        name=unit.name,
        van=unit.build.name,
        size=f"{unit.width_mm} × {unit.depth_mm} × {unit.height_mm} mm",
        stands=unit.stands,
        is_out=unit.removed_at is not None,
        tasks=tuple(UnitTask(t.pk, t.name, t.state, _crew(t, names)) for t in tasks),
        parts=tuple(
            UnitPart(p.name, p.count, f"{size_words(p.length_tenths, p.width_tenths)} mm", p.material.name)
            for p in parts
        ),
        people=tuple(people),
        places=photos_by_place(unit.build, unit),
        drawing=drawing_of(unit),
    )


def _crew(task: Task, names: dict[int, str]) -> tuple[str, ...]:
    row = getattr(task, "planned", None)
    crew = task.crew_on_it or (row.fitters if row and task.state != "done" else [])
    return tuple(names[pk] for pk in crew if pk in names)
