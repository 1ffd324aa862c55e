"""A busy shop to try changes on, one change of each kind, and every row of every table to compare."""

from __future__ import annotations

from datetime import date, timedelta

from django.apps import apps

from builds.actions import what_if
from builds.actions.planning import replan
from builds.actions.telling import tell_the_crew
from builds.models import Build, Delivery, Person, Shop, Task, WhatIf
from tests import cast

KINDS = ("away", "late", "without", "taken in", "first", "longer", "closed", "pin")


def make_busy_shop(now) -> Person:
    """Two vans that share two joiners and the spray area, one delivery, and a third van asked about."""
    wren = cast.make_person("Wren Alder", "joinery", "finishing", "vehicle", "owner")
    cast.make_person("Osric Vane", "joinery", "finishing")
    for name, promise in (("Heron", 12), ("Plover", 30)):
        build = cast.make_build(name, promised_on=date(2027, 3, 1) + timedelta(days=promise))
        _work(build)
    asked = cast.make_build("Curlew", status="asked", arrives_on=date(2027, 3, 8), promised_on=None)
    _work(asked)
    heron = Build.objects.get(name="Heron")
    worktop = Delivery.objects.create(
        build=heron, what="Worktop", expected_on=date(2027, 3, 4), first_expected_on=date(2027, 3, 4)
    )
    worktop.tasks.set([heron.tasks.get(key="fit")])
    Shop.objects.update(revision=1)
    replan(now=now)
    tell_the_crew(now=now, user=cast.make_owner())
    replan(now=now)
    return wren


def _work(build: Build) -> None:
    cut = cast.make_task(build, "cut", hours=12, place_id="bench", needs_van=False)
    paint = cast.make_task(
        build, "paint", hours=6, trade_id="finishing", place_id="spray", needs_van=False, after=(cut,)
    )
    fit = cast.make_task(build, "fit", hours=9, after=((paint, 24 * 60),))
    cast.make_task(build, "trim", hours=4, after=(fit,))


def change(kind: str, *, days: int = 0) -> dict:
    """One change of each kind about the busy shop; `days` moves its day."""
    day = date(2027, 3, 9) + timedelta(days=days)
    monday = date(2027, 3, 15) + timedelta(weeks=days // 7)
    stretch = {"first": str(day), "last": str(day + timedelta(days=2))}
    task = Task.objects.get(build__name="Plover", key="trim").pk
    about: dict[str, dict] = {
        "away": {"person": Person.objects.get(name="Wren Alder").pk, **stretch},
        "longer": {"person": Person.objects.get(name="Wren Alder").pk, "minutes": 60},
        "late": {"delivery": Delivery.objects.get().pk, "day": str(day)},
        "without": {"delivery": Delivery.objects.get().pk},
        "taken in": {"build": Build.objects.get(name="Curlew").pk, "day": str(day)},
        "first": {"build": Build.objects.get(name="Plover").pk, "place": "spray"},
        "closed": stretch,
        "pin": {"task": task, "monday": str(monday)},
    }
    return {"kind": kind, **about[kind], "words": f"{kind} {days}"}


def everything() -> dict[str, list]:
    """Every row of every table but the copies' own, byte for byte."""
    return {
        model._meta.label: sorted(map(repr, model._base_manager.values_list()))
        for model in apps.get_models(include_auto_created=True)
        if model is not WhatIf
    }


def days_of(result: dict) -> dict[int, str | None]:
    return {build: after for build, _, after in result["vans"]}


def in_the_middle(monkeypatch, act) -> None:
    """Lets somebody else do something while a result is worked out, before it is written."""
    real = what_if.result_of

    def slow(*args, **more):
        monkeypatch.setattr(what_if, "result_of", real)
        act()
        return real(*args, **more)

    monkeypatch.setattr(what_if, "result_of", slow)
