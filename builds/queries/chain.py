"""Why a van is handed over when it is: the chain of reasons back to today, from the stored plan."""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime

from builds.engines.planning.plan import Plan, Planned, Reason
from builds.engines.planning.problem import Link, Opening, Place, Problem, Task
from builds.engines.planning.reasons import Step, chain, chain_of_task, sentences
from builds.models import Link as LinkRow
from builds.models import Person, PlanRow
from builds.queries.opening import OpeningTimes, instant, minute
from builds.templatetags.words import day as day_words

WHAT_FOR = {
    "wood_primer": "for the primer to dry",
    "topcoat": "for the coat to dry",
    "filler": "for the filler to go off",
    "steel_primer": "for the steel primer to dry",
    "wood_glue": "for the glue to hold",
    "bonding": "for the bond to cure",
    "sealant": "for the sealant to cure",
    "floor_glue": "for the floor glue to hold",
    "oil": "for the oil to dry",
    "drying_out": "to dry out",
}


class Chains:
    """The stored plan read once, so that any number of chains can be told from it; three queries."""

    def __init__(self, times: OpeningTimes) -> None:
        self._times = times
        self._names: dict[str, str] = {}
        links = self._links()
        planned, tasks, places = [], [], {}
        for pk, name, unit, installation, build, van, place, place_name, bay, *times_and_crew in _rows():
            start, finish, fitters, reason = times_and_crew
            task = str(pk)
            self._names[task] = _name(name, unit or installation, van)
            self._names[str(-build)] = van
            self._names[place] = f"the place “{place_name}”"
            places[place] = Place(place, holds_bay=bay)
            tasks.append(Task(task, str(-build), 0, "", place, after=links.get(task, ())))
            crew = tuple(str(p) for p in fitters)
            planned.append(Planned(task, minute(start), minute(finish), crew, _reason(reason)))
        opening = Opening({}, frozenset(), str(times.zone))
        self._problem = Problem(opening, places, (), (), tuple(tasks), 0)
        self._plan = Plan(tuple(planned), (), (), {}, ())
        self._people = {str(pk): name.split()[0] for pk, name in Person.objects.values_list("pk", "name")}

    def of_build(self, build: int) -> list[str]:
        """One sentence a step, from handover back to today; empty when nothing is planned."""
        return self._told(chain(self._problem, self._plan, str(-build)))

    def of_task(self, task: int) -> list[str]:
        return self._told(chain_of_task(self._problem, self._plan, str(task)))

    def _told(self, steps: tuple[Step, ...]) -> list[str]:
        return sentences(steps, self._names, self._people, self._day, self._time)

    def _day(self, at: int) -> str:
        return day_words(self._times.day_of(instant(at)))

    def _time(self, at: int) -> str:
        here: datetime = instant(at).astimezone(self._times.zone)
        return f"{here:%H:%M} on {day_words(here.date())}"

    def _links(self) -> dict[str, tuple[Link, ...]]:
        found: dict[str, list[Link]] = defaultdict(list)
        rows = LinkRow.objects.filter(
            after__planned__isnull=False, before__removed_at=None, before__build__status="agreed"
        )
        for before, after, wait, cure, name in rows.values_list(
            "before_id", "after_id", "wait_minutes", "cure", "before__name"
        ):
            found[str(after)].append(Link(str(before), wait, purpose=WHAT_FOR.get(cure, "")))
            self._names.setdefault(str(before), f"“{name}”")
        return {after: tuple(links) for after, links in found.items()}


def _rows():
    return PlanRow.objects.filter(task__removed_at=None, task__build__status="agreed").values_list(
        "task_id", "task__name", "task__unit__name", "task__installation__name", "task__build_id",
        "task__build__name", "task__place_id", "task__place__name", "task__place__holds_bay", "start",
        "finish", "fitters", "reason",
    )  # fmt: skip


def _name(task: str, group: str | None, van: str) -> str:
    return f"“{task}” ({group}, {van})" if group else f"“{task}” ({van})"


def _reason(stored: dict) -> Reason:
    """Reasons of the stored plan name vans by build id; here they are told apart from tasks by a minus."""
    ref = stored.get("ref")
    if stored.get("code") in ("bay", "arrival") and ref and ref.isdigit():
        stored = stored | {"ref": f"-{ref}"}
    return Reason(**stored)
