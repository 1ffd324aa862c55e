"""The job sheet as it is shown: frozen rows of words, and how they are put in order."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta

from builds.models import PlanRow
from builds.queries.job_cut_sheets import JobCutSheet
from builds.queries.opening import OpeningTimes


@dataclass(frozen=True)
class JobCheck:
    pk: int
    name: str
    state: str


@dataclass(frozen=True)
class JobTask:
    """One task with all that a fitter wants to know. `hours` is what the tick offers, as typed.

    `fits` names the installation it works on, whose serial number may be filed; "" where there is none.
    `unit` is the piece of furniture it makes, None where it makes none.
    """

    pk: int
    build: int
    van: str
    unit: int | None
    group: str
    name: str
    place: str
    with_whom: tuple[str, ...]
    times: str
    state: str
    can_start: bool
    why_not: tuple[str, ...]
    is_on: bool
    stop_reason: str
    hours: str
    hours_words: str
    at_hand: str
    on_shelf: tuple[str, ...]
    missing: tuple[str, ...]
    reminder: str
    caution: str
    licensed: bool
    competent_person: str
    check: JobCheck | None
    asks_photos: bool = False
    cut_sheets: tuple[JobCutSheet, ...] = ()
    fits: str = ""

    @property
    def is_ready(self) -> bool:
        return self.state == "to do" and self.can_start

    @property
    def may_tick(self) -> bool:
        """A tick may come without a start, but for work with an open check or photos still to be taken."""
        if self.check is not None or self.asks_photos:
            return False
        return self.state == "under way" or self.can_start


@dataclass(frozen=True)
class JobGroup:
    """The tasks of one unit or installation of one van."""

    build: int
    van: str
    unit: int | None
    name: str
    tasks: tuple[JobTask, ...]


@dataclass(frozen=True)
class JobWait:
    link: int
    van: str
    group: str
    before: str
    after: str
    is_over: bool
    words: str


@dataclass(frozen=True)
class JobDay:
    day: str
    groups: tuple[JobGroup, ...]

    @property
    def count(self) -> int:
        return len(self.tasks)

    @property
    def tasks(self) -> tuple[int, ...]:
        return tuple(task.pk for group in self.groups for task in group.tasks)


@dataclass(frozen=True)
class JobDoing:
    """Something this person did today, with whether it may be taken back."""

    event: int
    van: str
    words: str
    at: str
    can_undo: bool


@dataclass(frozen=True)
class JobSheet:
    """`closed` is why the shop is shut today, "" for a weekday it never opens, None when it is open."""

    person: int
    name: str
    day: str
    closed: str | None
    groups: tuple[JobGroup, ...]
    waits: tuple[JobWait, ...]
    days: tuple[JobDay, ...]
    doings: tuple[JobDoing, ...]
    vans: tuple[tuple[int, str], ...] = ()
    tag: str = ""

    @property
    def tasks(self) -> tuple[JobTask, ...]:
        return tuple(task for group in self.groups for task in group.tasks)

    @property
    def last_doing(self) -> JobDoing | None:
        return self.doings[0] if self.doings else None


def sheet_tag(sheet: JobSheet) -> JobSheet:
    """The sheet with a mark of all that is on it, so that a tablet can ask whether it changed."""
    return replace(sheet, tag=hashlib.blake2s(repr(sheet).encode(), digest_size=8).hexdigest())


def day_words(day: date) -> str:
    return f"{day:%A} {day.day} {day:%B}"


def grouped(tasks: Iterable[JobTask]) -> tuple[JobGroup, ...]:
    """Tasks by van and unit, in the order in which each group's first task comes; cautions said once."""
    found: dict[tuple[int, str], list[JobTask]] = {}
    said: set[str] = set()
    for task in tasks:
        shown = replace(task, caution="") if task.caution in said else task
        said.add(task.caution)
        found.setdefault((task.build, task.group), []).append(shown)
    return tuple(
        JobGroup(rows[0].build, rows[0].van, rows[0].unit, group, tuple(rows))
        for (_, group), rows in found.items()
    )


def plan_times(row: PlanRow | None, today: date, times: OpeningTimes) -> str:
    """When it is planned on its day: "from 10:00 to 12:30", "goes on", "from 15:00, on into Tuesday"."""
    if row is None:
        return ""
    start, finish = row.start.astimezone(times.zone), row.finish.astimezone(times.zone)
    day = max(start.date(), today)
    words = f"from {start:%H:%M}" if start.date() >= today else "goes on"
    if finish.date() <= day:
        return f"{words} to {finish:%H:%M}"
    ahead = (finish.date() - day) < timedelta(days=7)
    return f"{words}, on into {finish:%A}" if ahead else f"{words}, on into {finish.day} {finish:%b}"
