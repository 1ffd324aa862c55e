"""One build on one page: its date and why, how far the work is, what it waits for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import (
    Case,
    CharField,
    DateField,
    DateTimeField,
    IntegerField,
    Q,
    QuerySet,
    Value,
    When,
)
from django.db.models.functions import Cast

from builds.models import Build, Decision, Delivery, PlanState, Shop, Snag, Task
from builds.queries.builds import week_of_build
from builds.queries.chain import Chains
from builds.queries.chances import Chances, chances_of
from builds.queries.forecast import Forecast, forecast_of
from builds.queries.opening import OpeningTimes, opening_times
from builds.queries.planned_work import Work, read_work
from builds.queries.remedies import WhatHelps, what_helps

UNPLANNED_WORDS = {
    "no trade": "nobody at work has the trade",
    "loop": "it stands in a loop of links",
    "too long for a day": "it must finish in one day and is longer than anyone’s day",
    "crew too small": "there are not enough people for its crew",
    "no room": "its place holds nothing",
    "no van": "the van has no day to come",
    "follows": "it follows work that can’t be planned",
    "word": "somebody has to decide first",
    "no time": "the people it needs are never here together",
}


@dataclass(frozen=True, slots=True)
class PhaseLine:
    """One stretch of the job: tasks and person-hours, done and all."""

    name: str
    tasks_done: int
    tasks_all: int
    hours_left: float
    starts_on: date | None
    ends_on: date | None

    @property
    def is_done(self) -> bool:
        return self.tasks_done == self.tasks_all


@dataclass(frozen=True, slots=True)
class CheckLine:
    task: int
    name: str
    state: str
    on: date | None


@dataclass(frozen=True, slots=True)
class WaitingFor:
    """Something not here or not decided: what, by when, and whether its day is over."""

    kind: str
    what: str
    on: date
    is_overdue: bool


@dataclass(frozen=True, slots=True)
class OpenSnag:
    """Something to put right; one of a failed check goes with the recheck and not by hand."""

    pk: int
    text: str
    on: date
    goes_with_check: bool


@dataclass(frozen=True, slots=True)
class UnplannedLine:
    task: int
    name: str
    why: str


@dataclass(frozen=True)
class BuildPage:
    build: Build
    today: date
    week: int | None
    weeks: int | None
    forecast: Forecast
    chances: Chances
    helps: WhatHelps
    reasons: tuple[str, ...]
    phases: tuple[PhaseLine, ...]
    checks: tuple[CheckLine, ...]
    waiting: tuple[WaitingFor, ...]
    stopped: tuple[Work, ...]
    unplanned: tuple[UnplannedLine, ...]
    snags: tuple[OpenSnag, ...]
    hours_done: float
    hours_all: float


def build_page(build: Build, now: datetime, *, shop: Shop | None = None) -> BuildPage:
    """Reads the page of one build; `build` with its customer."""
    shop = shop or Shop.objects.get_or_create(pk=1)[0]
    times = opening_times(shop)
    today = times.day_of(now)
    state = PlanState.objects.filter(pk=1).first()
    work = read_work(Task.objects.kept().filter(build=build))
    ends = _open_ends(build)
    week, weeks = week_of_build(build, today, times)
    return BuildPage(
        build=build,
        today=today,
        week=week,
        weeks=weeks,
        forecast=forecast_of(build, state, times),
        chances=chances_of(build, state, shop, times),
        helps=what_helps(build, state, shop),
        reasons=tuple(Chains(times).of_build(build.pk)),
        phases=_phases(build, work, times),
        checks=_checks(work, times),
        waiting=_waiting(ends, today),
        stopped=tuple(w for w in work if w.state == "stopped"),
        unplanned=unplanned_lines(work, state),
        snags=tuple(
            OpenSnag(pk, words, times.day_of(since), bool(is_held))
            for kind, words, _, since, pk, is_held in ends
            if kind == "snag"
        ),
        hours_done=sum(w.hours_planned for w in work if w.state == "done"),
        hours_all=sum(w.hours_planned for w in work),
    )


def unplanned_lines(work: Iterable[Work], state: PlanState | None) -> tuple[UnplannedLine, ...]:
    """What the plan had to leave out of this work, each with its reason in words."""
    known = {w.pk: w for w in work}
    found = []
    for left_out in state.unplanned if state else []:
        row = known.get(int(left_out["task"]))
        if row is not None and left_out["code"] != "follows":
            found.append(UnplannedLine(row.pk, row.name, why_left_out(left_out["code"], row.trade_name)))
    return tuple(found)


def why_left_out(code: str, trade: str) -> str:
    """Why the plan left work of a trade out, in words."""
    if code == "no trade" and trade:
        return f"nobody at work leads {trade.lower()}"
    return UNPLANNED_WORDS.get(code, code)


def _phases(build: Build, work: list[Work], times: OpeningTimes) -> tuple[PhaseLine, ...]:
    by_phase: dict[str, list[Work]] = defaultdict(list)
    for row in work:
        by_phase[row.phase or "Jobs added"].append(row)
    return tuple(_phase(name, rows, times) for name, rows in by_phase.items())


def _phase(name: str, rows: list[Work], times: OpeningTimes) -> PhaseLine:
    starts = [times.day_of(w.start) for w in rows if w.start]
    ends = [times.day_of(w.finish) for w in rows if w.finish]
    return PhaseLine(
        name=name,
        tasks_done=sum(w.state == "done" for w in rows),
        tasks_all=len(rows),
        hours_left=sum(w.person_hours for w in rows if w.state != "done"),
        starts_on=min(starts, default=None),
        ends_on=max(ends, default=None),
    )


def _checks(work: list[Work], times: OpeningTimes) -> tuple[CheckLine, ...]:
    return tuple(
        CheckLine(w.pk, w.check, w.check_state, times.day_of(w.finish) if w.finish else None)
        for w in work
        if w.check
    )


def _waiting(ends, today: date) -> tuple[WaitingFor, ...]:
    found = [WaitingFor(kind, words, on, on < today) for kind, words, on, *_ in ends if kind != "snag"]
    return tuple(sorted(found, key=lambda w: w.on))


def _open_ends(build: Build) -> list[tuple[str, str, date | None, datetime | None, int, bool]]:
    """Deliveries not here, questions not decided and snags not put right, in one query."""
    none_at = Cast(Value(None), DateTimeField())
    deliveries = Delivery.objects.order_by().filter(build=build, on_shelf_on=None, arrived_on=None)
    decisions = Decision.objects.order_by().filter(build=build, decided_on=None)
    snags = Snag.objects.order_by().filter(build=build, put_right_at=None)
    columns = ("kind", "words", "on", "since", "row", "is_held")

    def marked(rows, kind: str, words: str, on, since) -> QuerySet:
        is_held = Q(hold_point__state="failed") if kind == "snag" else Q(pk=None)
        return rows.annotate(
            kind=Value(kind, CharField()),
            words=Cast(words, CharField(max_length=400)),
            on=on,
            since=since,
            row=Cast("pk", IntegerField()),
            is_held=Case(When(is_held, then=Value(1)), default=Value(0), output_field=IntegerField()),
        ).values_list(*columns)

    first = marked(deliveries, "delivery", "what", Cast("expected_on", DateField()), none_at)
    second = marked(decisions, "decision", "what", Cast("needed_by", DateField()), none_at)
    third = marked(snags, "snag", "text", Cast(Value(None), DateField()), Cast("at", DateTimeField()))
    return list(first.union(second, third, all=True))
