"""The work of one build, task by task, grouped by unit, installation and the van as a whole."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from builds.models import Build, Link, Person, PlanState, Shop, Task, Trade
from builds.queries.build_page import unplanned_lines
from builds.queries.opening import OpeningTimes, opening_times
from builds.queries.planned_work import Work, read_work
from builds.templatetags.words import day as day_words
from builds.templatetags.words import hours as hours_words

STATE_WORDS = {"to do": "to do", "under way": "under way", "done": "done", "stopped": "stopped"}


@dataclass(frozen=True, slots=True)
class TaskLine:
    """One task in words, ready to show."""

    pk: int
    name: str
    phase: str
    trade: str
    state: str
    hours: str
    when: str
    who: str
    note: str
    is_pinned: bool
    check: str


@dataclass(frozen=True, slots=True)
class TaskGroup:
    key: str
    name: str
    lines: tuple[TaskLine, ...]
    done: int

    @property
    def all(self) -> int:
        return len(self.lines)


@dataclass(frozen=True)
class BuildWork:
    build: Build
    groups: tuple[TaskGroup, ...]
    tasks_all: int
    tasks_done: int


def build_work(build: Build, *, shop: Shop | None = None, words: str = "", only: str = "") -> BuildWork:
    """Reads the work of a build: six queries. `words` searches names, `only` is a state or a trade's key."""
    times = opening_times(shop)
    people = {pk: name.split()[0] for pk, name in Person.objects.values_list("pk", "name")}
    trades = dict(Trade.objects.values_list("key", "name"))
    rows = read_work(Task.objects.kept().filter(build=build))
    why = {u.task: u.why for u in unplanned_lines(rows, PlanState.objects.filter(pk=1).first())}
    wanted = [w for w in rows if _matches(w, words, only)]
    wanted.sort(key=lambda w: (w.group_order, w.group))
    groups = []
    for group, of_group in groupby(wanted, key=lambda w: w.group):
        found = list(of_group)
        lines = tuple(_line(w, times, people, trades, why) for w in found)
        groups.append(
            TaskGroup(
                f"{group[0]}-{group[1]}", found[0].group_name, lines, sum(w.state == "done" for w in found)
            )
        )
    return BuildWork(build, tuple(groups), len(rows), sum(w.state == "done" for w in rows))


def _matches(row: Work, words: str, only: str) -> bool:
    text = f"{row.name} {row.group_name} {row.phase}".lower()
    if any(word not in text for word in words.lower().split()):
        return False
    return not only or only in (row.state, row.trade)


def _line(row: Work, times: OpeningTimes, people, trades, why) -> TaskLine:
    return TaskLine(
        pk=row.pk,
        name=row.name,
        phase=row.phase,
        trade=trades.get(row.trade, row.trade),
        state=row.state,
        hours=hours_words(row.hours) + (f" × {row.crew}" if row.crew > 1 else ""),
        when=when_words(row, times),
        who=", ".join(people[p] for p in row.fitters if p in people),
        note=row.stop_reason or why.get(row.pk, ""),
        is_pinned=row.pin is not None,
        check=row.check and ("passed" if not row.is_open_check else "check " + row.check_state),
    )


def when_words(row: Work, times: OpeningTimes) -> str:
    if row.start is None or row.finish is None:
        return "done before" if row.state == "done" else "not planned"
    first, last = times.day_of(row.start), times.day_of(row.finish)
    if first == last:
        return day_words(first)
    return f"{day_words(first)} to {day_words(last)}"


@dataclass(frozen=True, slots=True)
class LinkLine:
    pk: int
    task: int
    name: str
    state: str
    wait: str
    latest: str
    why: str


@dataclass(frozen=True)
class TaskPage:
    """One task with what it waits for, what waits for it, and why it starts when it does."""

    task: Task
    when: str
    who: str
    reasons: tuple[str, ...]
    before: tuple[LinkLine, ...]
    after: tuple[LinkLine, ...]
    unplanned: str
    pinned_to: datetime | None


def task_page(task: Task, *, shop: Shop | None = None) -> TaskPage:
    """Reads one task of a build; `task` with its build, unit, installation and hold point."""
    from builds.queries.chain import Chains

    times = opening_times(shop)
    work = read_work(Task.objects.filter(pk=task.pk))
    people = dict(Person.objects.values_list("pk", "name"))
    left_out = unplanned_lines(work, PlanState.objects.filter(pk=1).first())
    row = work[0]
    return TaskPage(
        task=task,
        when=when_words(row, times),
        who=", ".join(people[p] for p in row.fitters if p in people),
        reasons=tuple(Chains(times).of_task(task.pk)[:12]) if task.state != "done" else (),
        before=_links(Link.objects.filter(after=task, before__removed_at=None), "before"),
        after=_links(Link.objects.filter(before=task, after__removed_at=None), "after"),
        unplanned=left_out[0].why if left_out else "",
        pinned_to=row.pin,
    )


def _links(rows: Iterable[Link], side: str) -> tuple[LinkLine, ...]:
    values = rows.order_by(f"{side}__order").values_list(
        "pk", f"{side}_id", f"{side}__name", f"{side}__state", f"{side}__unit__name",
        f"{side}__installation__name", "wait_minutes", "latest_minutes", "why",
    )  # fmt: skip
    found = []
    for pk, task, name, state, unit, installation, wait, latest, why in values:
        group = unit or installation
        found.append(
            LinkLine(
                pk=pk,
                task=task,
                name=f"{name} ({group})" if group else name,
                state=state,
                wait=f"{wait / 60:g} h" if wait else "",
                latest=f"{latest / 60:g} h" if latest else "",
                why=why,
            )
        )
    return tuple(found)
