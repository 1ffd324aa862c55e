"""A day on the floor with one of everything on one job sheet, for looking at and pressing."""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone

from builds.actions.cutting import lay_out
from builds.actions.filing import file_paper
from builds.actions.floor import By
from builds.actions.photos import keep_photo
from builds.models import (
    CutSheet,
    Delivery,
    HoldPoint,
    Installation,
    Link,
    Person,
    PlanRow,
    Snag,
    Task,
)
from tests import cast
from tests.actions.test_filing import PDF
from tests.actions.test_photos import picture

PIN = "2468"


@dataclass(frozen=True)
class BusyFloor:
    """Wren's day: `tasks` by key, and `ids` for the addresses of every page of the floor."""

    person: Person
    tasks: dict[str, Task]
    ids: dict[str, object]

    def address(self, site: str) -> str:
        return f"{site}/floor/{self.person.pk}/"


def make_busy_floor() -> BusyFloor:
    """One fitter with work that is ready, under way, stopped, waiting, licensed, tested, cut and drying."""
    now = timezone.now()
    wren = cast.make_person("Wren Alder", "joinery", "finishing", "gas", competence="on record")
    wren.set_pin(PIN)
    wren.save()
    build = cast.make_build(
        arrives_on=now.date() - timedelta(days=9), promised_on=now.date() + timedelta(days=90)
    )
    unit = cast.make_unit(build)
    cast.make_part(unit, cast.make_board(), "Side", 2000, 585, count=3)
    heater = Installation.objects.create(build=build, kind="heating", name="Heater")
    tasks = _tasks(build, unit, heater, now)
    for key, task in tasks.items():
        if task.state != "done":
            _plan(task, wren, now + timedelta(days=1 if key == "tomorrow" else 0))
    check = _check(tasks["test-tank"])
    wait = Link.objects.get(before=tasks["first-coat"])
    delivery = Delivery.objects.create(what="Hob", expected_on=now.date(), build=build)
    delivery.tasks.add(tasks["fit-hob"])
    snag = Snag.objects.create(build=build, text="Catch does not hold", at=now)
    keep_photo(file=picture(640, 480), build=build, behind="Roof, front", person=wren, now=now)
    by = By(person=wren)
    file_paper(build=build, installation=heater, serial_number="H-4471", file=io.BytesIO(PDF), by=by, now=now)
    lay_out(builds=[build], now=now, by=None)
    ids = {
        "person": wren.pk,
        "build": build.pk,
        "unit": unit.pk,
        "check": check.pk,
        "cut_sheet": _first_sheet(build),
        "task": tasks["line-ceiling"].pk,
        "installation": heater.pk,
        "snag": snag.pk,
        "link": wait.pk,
    }
    return BusyFloor(wren, tasks, ids)


def _tasks(build, unit, heater, now: datetime) -> dict[str, Task]:
    def make(key, **more):
        return cast.make_task(build, key, **more)

    yesterday = now - timedelta(days=1)
    ceiling = make("line-ceiling", hours=3, state="under way", started_at=now)
    coat = make("first-coat", trade_id="finishing", state="done", finished_at=now, started_at=yesterday)
    made = [
        ceiling,
        coat,
        make("close-wall", closes_up=True),
        make("gas-pipe", trade_id="gas", hours=2),
        make("test-tank"),
        make("fit-hob"),
        make("fit-heater", installation=heater),
        make("cut-parts", unit=unit, standard="cut", hours=4, place_id="bench", needs_van=False),
        make("fit-rail", state="stopped", stop_reason="waiting for material"),
        make("trim-ceiling", after=(ceiling,)),
        make("second-coat", trade_id="finishing", after=((coat, 16 * 60),)),
        make("tomorrow"),
    ]
    return {task.key: task for task in made}


def _plan(task: Task, person: Person, start: datetime) -> None:
    PlanRow.objects.create(task=task, start=start, finish=start + timedelta(hours=1), fitters=[person.pk])


def _check(task: Task) -> HoldPoint:
    fields = [
        {"key": "bar", "label": "Pressure", "kind": "number", "unit": "bar", "least": 1.5, "basis": "own"},
        {"key": "dry", "label": "Dry at every joint", "kind": "yes"},
        {
            "key": "seen",
            "label": "Drops seen",
            "kind": "choice",
            "choices": ["none", "some"],
            "wanted": "none",
        },
    ]
    return HoldPoint.objects.create(
        task=task, kind="own", name="Pressure test", fields=fields, certificate_due=True
    )


def _first_sheet(build) -> int:
    return CutSheet.objects.filter(plan__builds=build).order_by("number").values_list("pk", flat=True)[0]
