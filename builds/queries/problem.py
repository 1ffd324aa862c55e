"""The shop as the planner wants it: every row that bears on the plan, as one frozen problem."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db.models import Q

from builds.engines.planning.calendar import open_minutes
from builds.engines.planning.problem import Fitter, Link, NotBefore, Opening, Place, Problem, Task, Van
from builds.models import (
    Absence,
    Build,
    Decision,
    Delivery,
    Person,
    PersonHours,
    Pin,
    PlanState,
    Shop,
    ToldRow,
    VisitDay,
)
from builds.models import Link as LinkRow
from builds.models import Place as PlaceRow
from builds.models import Task as TaskRow

from .opening import OpeningTimes, minute, opening_times, span_minutes

SLOT = 15
WARMTH_FACTOR = {"warm": 1.0, "normal": 1.0, "cold": 1.5}
"""How a cold shop stretches drying and curing. Common practice, no source."""

HORIZON_DAYS = 3 * 366


def shop_problem(
    now: datetime,
    *,
    shop: Shop | None = None,
    also: Collection[int] = (),
    expected: Mapping[int, date | None] | None = None,
) -> Problem:
    """Reads everything that is planned: agreed builds, their unfinished and finished work, people, places.

    Builds in `also` are read with them, agreed or not; `expected` puts other days to some deliveries, by
    their pk: what if they came then, or nobody waited for them (None)? About fifteen queries whatever the
    size of the shop.
    """
    shop = shop or Shop.objects.get_or_create(pk=1)[0]
    times = opening_times(shop)
    today = times.day_of(now)
    state = PlanState.objects.filter(pk=1).first() or PlanState()
    places = {p.key: p for p in PlaceRow.objects.all()}
    builds = list(Build.objects.filter(Q(status="agreed") | Q(pk__in=also)))
    opening = times.for_planner(today - timedelta(days=400), today + timedelta(days=HORIZON_DAYS))
    return Problem(
        opening=opening,
        places={p.key: _place(p) for p in places.values() if p.key != "rack"},
        fitters=_fitters(times, today),
        vans=_vans(times, builds),
        tasks=_tasks(shop, times, opening, now, builds, expected or {}),
        now=minute(now),
        bays=places["bay"].room if "bay" in places else None,
        rack_room=places["rack"].room if "rack" in places else None,
        move_minutes=shop.move_minutes,
        order=tuple(str(i) for i in state.order),
        crews=_crews(state),
    )


def _crews(state: PlanState) -> dict[str, tuple[str, ...]]:
    """Crews chosen with a taken proposal, and over them the crews that were told."""
    chosen = {task: tuple(str(p) for p in people) for task, people in state.crews.items()}
    told = ToldRow.objects.exclude(task__state="done").values_list("task_id", "fitters")
    return chosen | {str(task): tuple(str(p) for p in people) for task, people in told if people}


def _place(row: PlaceRow) -> Place:
    """A place to work at; how many bays there are is a matter of stays, not of single tasks."""
    return Place(
        key=row.key,
        room=None if row.key == "bay" else row.room,
        counts=row.counts,
        per_van=row.per_van,
        holds_bay=row.holds_bay,
        position=row.van_position or None,
    )


def _fitters(times: OpeningTimes, today: date) -> tuple[Fitter, ...]:
    hours: dict[int, dict[int, list]] = defaultdict(lambda: defaultdict(list))
    for person, day, a, b in PersonHours.objects.values_list("person_id", "weekday", "starts", "ends"):
        hours[person][day].append((a, b))
    away: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for absence in Absence.objects.filter(last_day__gte=today - timedelta(days=7)):
        away[absence.person_id] += _absence_spans(absence, times)
    booked: dict[int, set[date]] = defaultdict(set)
    for person, day in VisitDay.objects.values_list("person_id", "date"):
        booked[person].add(day)
    return tuple(
        _fitter(p, hours.get(p.pk), tuple(away[p.pk]), booked.get(p.pk))
        for p in Person.objects.working().prefetch_related("trades")
    )


def _fitter(person: Person, hours, away, booked) -> Fitter:
    own = {day: span_minutes(sorted(spans)) for day, spans in hours.items()} if hours else None
    trades = frozenset() if person.is_apprentice else frozenset(t.key for t in person.trades.all())
    return Fitter(
        id=str(person.pk),
        trades=trades,
        helps=person.helps and not person.is_visitor,
        days=frozenset(own) if own else None,
        hours=own,
        away=away,
        booked=frozenset(booked) if booked and person.is_visitor else None,
    )


def _absence_spans(absence: Absence, times: OpeningTimes) -> list[tuple[int, int]]:
    if absence.from_time is None:
        end = times.start_of(absence.last_day + timedelta(days=1))
        return [(minute(times.start_of(absence.first_day)), minute(end))]
    days = (absence.last_day - absence.first_day).days + 1
    return [
        (
            minute(datetime.combine(day, absence.from_time, tzinfo=times.zone)),
            minute(datetime.combine(day, absence.to_time, tzinfo=times.zone)),
        )
        for day in (absence.first_day + timedelta(days=n) for n in range(days))
    ]


def _vans(times: OpeningTimes, builds: list[Build]) -> tuple[Van, ...]:
    in_bay = set(
        TaskRow.objects.kept()
        .filter(place__holds_bay=True, started_at__isnull=False, build__in=builds)
        .values_list("build_id", flat=True)
    )
    return tuple(
        Van(
            id=str(b.pk),
            here=_stays(b, times),
            promised=b.promised_on,
            weight=b.promise_weight,
            in_bay=b.pk in in_bay,
        )
        for b in builds
    )


def _stays(build: Build, times: OpeningTimes) -> tuple[tuple[int, int | None], ...]:
    stays: list[tuple[int, int | None]] = []
    if build.survey_on and build.survey_on != build.arrives_on:
        end = times.start_of(build.survey_on + timedelta(days=1))
        stays.append((minute(times.start_of(build.survey_on)), minute(end)))
    if build.arrives_on:
        stays.append((minute(times.start_of(build.arrives_on)), None))
    return tuple(stays)


def planned_minutes(hours: Decimal, share: Decimal, *, same_day: bool, shortest_day: int) -> int:
    """Working minutes a task takes in the plan: its hours over the plannable share, on the 15-minute grid.

    Work that must finish in a day is not stretched past the shortest day, only by what fits.
    """
    plain = float(hours) * 60
    stretched = plain / float(share)
    if same_day and shortest_day:
        stretched = max(plain, min(stretched, shortest_day))
    return max(SLOT, math.ceil(round(stretched / SLOT, 6)) * SLOT)


def _tasks(
    shop: Shop,
    times: OpeningTimes,
    opening: Opening,
    now: datetime,
    builds: list[Build],
    expected: Mapping[int, date | None],
) -> tuple[Task, ...]:
    links = _links(shop, builds)
    bounds = _bounds(times, now, expected)
    pins = dict(Pin.objects.values_list("task_id", "monday"))
    told = dict(ToldRow.objects.values_list("task_id", "monday"))
    rows = TaskRow.objects.kept().filter(build__in=builds).order_by("build_id", "order", "id")
    return tuple(
        _task(
            row, shop, times, opening, now, links.get(row.pk, ()), tuple(bounds.get(row.pk, ())), pins, told
        )
        for row in rows
    )


def _task(row: TaskRow, shop, times, opening, now, links, bounds, pins, told) -> Task:
    def in_plan(hours: Decimal) -> int:
        return planned_minutes(
            hours, shop.plannable_share, same_day=row.same_day, shortest_day=times.shortest_day_minutes
        )

    under_way = row.state in ("under way", "stopped") and row.started_at is not None
    task = Task(
        id=str(row.pk),
        van=str(row.build_id),
        minutes=in_plan(row.hours),
        trade=row.trade_id,
        place=row.place_id,
        crew=row.crew,
        needs_van=row.needs_van,
        after=links,
        same_day=row.same_day,
        not_before=bounds,
        pin_week=pins.get(row.pk),
        told_week=None if row.pk in pins else told.get(row.pk),
        dries_here=row.dries_here_minutes,
        rack=row.rack_minutes,
        claims_van=row.claims_van,
        still=row.still_minutes,
        fitters=tuple(str(p) for p in row.crew_on_it),
    )
    if row.state == "done":
        started = row.started_at or row.finished_at
        return replace(task, state="done", started=minute(started), finished=minute(row.finished_at))
    if row.state == "stopped":
        task = replace(task, not_before=(*bounds, _stopped_until(row, times, now)))
    left = in_plan(row.hours if row.hours_left is None else max(row.hours_left, Decimal("0.25")))
    if row.state == "under way":
        if row.hours_left is None:
            left = _less_what_was_worked(left, row, opening, now)
        return replace(task, state="under way", started=minute(row.started_at), left=left)
    return replace(task, minutes=left) if under_way else task


def _less_what_was_worked(minutes: int, row: TaskRow, opening: Opening, now: datetime) -> int:
    """What is left of work that nobody said a word on since it started: less the opening time since.

    A quarter is always left: it is not done before somebody ticks it. Common practice, no source.
    """
    worked = open_minutes(opening, minute(row.started_at), minute(now))
    least = max(SLOT, math.ceil(minutes / 4 / SLOT) * SLOT)
    return max(least, math.ceil((minutes - worked) / SLOT) * SLOT)


def _stopped_until(row: TaskRow, times: OpeningTimes, now: datetime) -> NotBefore:
    tomorrow = times.start_of(times.day_of(now) + timedelta(days=1))
    return NotBefore(at=minute(tomorrow), kind="stopped", ref=row.stop_reason)


def _links(shop: Shop, builds: list[Build]) -> dict[int, tuple[Link, ...]]:
    stretch = WARMTH_FACTOR[shop.warmth]
    found: dict[int, list[Link]] = defaultdict(list)
    rows = LinkRow.objects.filter(
        before__removed_at=None, after__removed_at=None, before__build__in=builds
    ).values_list(
        "before_id", "after_id", "wait_minutes", "latest_minutes", "cure", "dry_at", "before__finished_at"
    )
    for before, after, wait, latest, cure, dry_at, finished in rows:
        minutes = math.ceil(wait * stretch) if cure else wait
        if dry_at and finished:
            minutes = max(0, minute(dry_at) - minute(finished))
        found[after].append(Link(task=str(before), wait=minutes, latest=latest))
    return {after: tuple(rows) for after, rows in found.items()}


def _bounds(
    times: OpeningTimes, now: datetime, expected: Mapping[int, date | None]
) -> dict[int, list[NotBefore]]:
    """Deliveries not here yet and decisions not made hold their tasks until the day after their date.

    One that is overdue is taken to come today.
    """
    today = times.day_of(now)
    found: dict[int, list[NotBefore]] = defaultdict(list)

    def hold(task: int, day: date, kind: str, ref: str) -> None:
        at = minute(times.start_of(max(day, today) + timedelta(days=1)))
        found[task].append(NotBefore(at=at, kind=kind, ref=ref))

    late = Delivery.objects.filter(arrived_on=None, on_shelf_on=None, tasks__isnull=False)
    for pk, task, due, what in late.values_list("pk", "tasks", "expected_on", "what"):
        comes_on = expected.get(pk, due)
        if comes_on is not None:
            hold(task, comes_on, "delivery", what)
    open_questions = Decision.objects.filter(decided_on=None, tasks__isnull=False)
    for task, day, what in open_questions.values_list("tasks", "needed_by", "what"):
        hold(task, day, "decision", what)
    return found
