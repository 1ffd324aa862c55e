"""The page of a copy: what is otherwise in it, its handovers beside today's, and what can be tried."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from builds.models import Build, Delivery, Person, Place, Shop, Task, WhatIf
from builds.queries.build_page import UNPLANNED_WORDS
from builds.queries.forecast import open_days_after
from builds.queries.opening import OpeningTimes, opening_times
from builds.queries.plan_changes import MovedTask, PersonChange, moved_of, named_tasks, people_of, shown_of
from builds.templatetags.words import count, day, starting_large

Choice = tuple[str, str]
MOST_TROUBLES = 12


@dataclass(frozen=True, slots=True)
class VanBeside:
    """One van's handover by the plan and by the copy; `later` counts opening days, sooner is negative."""

    build: int
    name: str
    promised: date | None
    before: date | None
    after: date | None
    later: int
    was_late: bool
    is_late: bool
    is_new: bool

    @property
    def words(self) -> str:
        """The difference in words."""
        if self.after is None:
            return "can’t be planned"
        if self.is_new:
            return "taken in"
        if not self.later:
            return "the same day"
        days = "1 day" if abs(self.later) == 1 else f"{abs(self.later)} days"
        return f"{days} later" if self.later > 0 else f"{days} sooner"


@dataclass(frozen=True, slots=True)
class TaskBeside:
    """A task that the copy leaves unplanned, or whose week it misses, with why."""

    build: int
    task: int
    name: str
    van: str
    why: str


@dataclass(frozen=True)
class ToTry:
    """What the forms offer: people, open deliveries and the orders they came of, vans, places that fill up.

    `tasks` are those of the agreed build `van`, by the part of the job; none while no van is chosen.
    """

    people: tuple[Choice, ...]
    deliveries: tuple[Choice, ...]
    orders: tuple[Choice, ...]
    asked: tuple[Choice, ...]
    agreed: tuple[Choice, ...]
    places: tuple[Choice, ...]
    van: int | None
    tasks: tuple[tuple[str, tuple[Choice, ...]], ...]


@dataclass(frozen=True, slots=True)
class ChangeLine:
    """One change in words, with why the shop has moved away from it ("" where it has not)."""

    words: str
    clash: str


@dataclass(frozen=True)
class WhatIfPage:
    """The open copy, if one is, and what can be tried.

    `moved` are the first of the `moved_count` of `tasks` that start a day or more off, `told_count` of them
    told to the crew; `people` get and give up tasks.
    """

    copy: WhatIf | None
    today: date
    times: OpeningTimes
    changes: tuple[ChangeLine, ...]
    vans: tuple[VanBeside, ...]
    troubles: tuple[TaskBeside, ...]
    more_troubles: int
    people: tuple[PersonChange, ...]
    moved: tuple[MovedTask, ...]
    moved_count: int
    told_count: int
    tasks: int
    to_try: ToTry

    @property
    def makes_room(self) -> bool:
        """Whether a van comes out sooner though nothing was tried that helps by itself."""
        helps = {"longer", "without", "first"}
        tried = {c["kind"] for c in self.copy.changes} if self.copy else set()
        return not tried & helps and any(v.later < 0 for v in self.vans)

    @property
    def may_keep(self) -> bool:
        return not any(line.clash for line in self.changes)

    @property
    def summary(self) -> str:
        """What the copy does to the handovers, in a sentence or two."""
        taken = [f"{v.name} would be ready {day(v.after)}." for v in self.vans if v.is_new and v.after]
        return " ".join([*taken, self._others])

    @property
    def _others(self) -> str:
        later = sum(v.later > 0 for v in self.vans)
        sooner = sum(v.later < 0 for v in self.vans)
        if not later and not sooner:
            return "No van’s handover moves to another day."
        parts = [f"{count(n, 'van,vans')} {how}" for n, how in ((later, "later"), (sooner, "sooner")) if n]
        late = sum(v.is_late and not v.was_late for v in self.vans)
        kept = sum(v.was_late and not v.is_late and v.after is not None for v in self.vans)
        ends = ([f"{count(late, 'promise,promises')} no longer kept"] if late else []) + (
            [f"{count(kept, 'promise,promises')} kept after all"] if kept else []
        )
        return starting_large(", ".join(parts + ends)) + "."


def what_if_page(copy: WhatIf | None, now: datetime, *, shop: Shop, van: int | None = None) -> WhatIfPage:
    """Reads the page; seven queries, and one for the tasks of a `van` to choose from."""
    times = opening_times(shop)
    builds = {b.pk: b for b in Build.objects.filter(status__in=["asked", "agreed"]).order_by("name", "pk")}
    to_try = _to_try(builds, van)
    result: dict[str, Any] = copy.result if copy else {}
    clashes, found = result.get("clashes", {}), result.get("changes", {})
    told, moved = set(result.get("told", [])), found.get("moved", [])
    shown, troubles = shown_of(moved, told), _troubles(result)
    tasks = named_tasks([row[0] for row in shown] + [pk for pk, _ in troubles[:MOST_TROUBLES]])
    return WhatIfPage(
        copy=copy,
        today=times.day_of(now),
        times=times,
        changes=tuple(
            ChangeLine(c["words"], clashes.get(str(place), ""))
            for place, c in enumerate(copy.changes if copy else [])
        ),
        vans=tuple(_van(row, builds, times) for row in result.get("vans", []) if int(row[0]) in builds),
        troubles=tuple(_trouble(tasks[pk], why) for pk, why in troubles[:MOST_TROUBLES] if pk in tasks),
        more_troubles=max(0, len(troubles) - MOST_TROUBLES),
        people=people_of(found, ((int(pk), name) for pk, name in to_try.people)),
        moved=moved_of(shown, told, tasks, times),
        moved_count=len(moved),
        told_count=len(told),
        tasks=found.get("tasks", 0),
        to_try=to_try,
    )


def _van(row: list, builds: dict[int, Build], times: OpeningTimes) -> VanBeside:
    build = builds[int(row[0])]
    before, after = (times.day_of(datetime.fromisoformat(at)) if at else None for at in row[1:])
    later = 0
    if before and after:
        later = open_days_after(before, after, times) - open_days_after(after, before, times)
    promised = build.promised_on
    return VanBeside(
        build=build.pk,
        name=build.name,
        promised=promised,
        before=before,
        after=after,
        later=later,
        was_late=bool(promised and before and before > promised),
        is_late=bool(promised and after and after > promised),
        is_new=build.status == "asked",
    )


def _troubles(result: dict[str, Any]) -> list[tuple[int, str]]:
    rows = [(int(t), UNPLANNED_WORDS.get(c, c)) for t, c in result.get("unplanned", []) if c != "follows"]
    return rows + [(int(t), "misses the week it is pinned to or told for") for t in result.get("broken", [])]


def _trouble(task: Task, why: str) -> TaskBeside:
    return TaskBeside(task.build_id, task.pk, task.name, f"{task.build.name}, {task.group_name}", why)


def _to_try(builds: dict[int, Build], van: int | None) -> ToTry:
    people = Person.objects.working().order_by("position", "name").values_list("pk", "name")
    deliveries = Delivery.objects.filter(arrived_on=None, on_shelf_on=None, tasks__isnull=False).distinct()
    rows = list(
        deliveries.order_by("expected_on", "pk").values_list(
            "pk", "what", "build__name", "expected_on", "line__order", "line__order__number", "supplier__name"
        )
    )
    places = Place.objects.exclude(room=None).exclude(key__in=["bay", "rack"]).order_by("order", "key")
    agreed = [b for b in builds.values() if b.status == "agreed"]
    chosen = next((b.pk for b in agreed if b.pk == van or len(agreed) == 1), None)
    return ToTry(
        people=tuple((str(pk), name) for pk, name in people),
        deliveries=tuple(
            (str(pk), f"{what} ({van or 'the shop'}), due {day(on)}") for pk, what, van, on, *_ in rows
        ),
        orders=_orders([row[3:] for row in rows]),
        asked=tuple((str(b.pk), b.name) for b in builds.values() if b.status == "asked"),
        agreed=tuple((str(b.pk), b.name) for b in agreed),
        places=tuple((p.key, p.name) for p in places),
        van=chosen,
        tasks=_tasks_of(chosen) if chosen else (),
    )


def _orders(rows: list[tuple]) -> tuple[Choice, ...]:
    """Whole orders of two things or more that work waits for, by the day of the first of them."""
    by_order: dict[int, list[tuple[str, str]]] = {}
    for on, order, number, supplier in rows:
        if order is not None:
            words = f"Order {number} from {supplier or 'the customer'}"
            by_order.setdefault(order, []).append((words, day(on)))
    return tuple(
        (f"order-{pk}", f"{found[0][0]} ({len(found)} things), due {found[0][1]}")
        for pk, found in by_order.items()
        if len(found) > 1
    )


def _tasks_of(van: int) -> tuple[tuple[str, tuple[Choice, ...]], ...]:
    """What of a van's work can still be put in a week, by the part of the job."""
    rows = Task.objects.unfinished().filter(build=van, state="to do").order_by("order", "pk")
    by_group: dict[str, list[Choice]] = {}
    for task in rows.select_related("unit", "installation"):
        by_group.setdefault(task.group_name, []).append((str(task.pk), task.name))
    return tuple((group, tuple(tasks)) for group, tasks in by_group.items())
