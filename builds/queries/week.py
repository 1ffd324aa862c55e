"""The owner's week: each van, what waits, what is due, hours against hours, what needs the owner now."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import (
    CharField,
    DateField,
    Expression,
    IntegerField,
    OuterRef,
    QuerySet,
    Subquery,
    Value,
)
from django.db.models.functions import Cast, Coalesce

from builds.models import Build, Decision, Delivery, HoldPoint, PlanState, ProgressSheet, Shop, Snag, Stage
from builds.queries.builds import week_of_build
from builds.queries.capacity import HoursOfTrade, WeekHours, halves, this_and_next, week_hours
from builds.queries.chances import chances_of
from builds.queries.fitters import Somebody, people_at_work
from builds.queries.forecast import Forecast, forecast_of
from builds.queries.needs_owner import Matters, NeedsYou, OpenEnd, needs_of, together
from builds.queries.opening import OpeningTimes, opening_times
from builds.queries.planned_work import Work, agreed_tasks, read_work
from builds.queries.settling import unsettled
from builds.queries.told import ToldChange, changes_since_told
from builds.templatetags.words import day as day_words
from builds.templatetags.words import listed

WEEK = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class VanLine:
    """One van of the shop this week, with what holds some of its work up."""

    pk: int
    name: str
    customer: str
    week: int | None
    weeks: int | None
    arrives_on: date | None
    aim: str
    forecast: Forecast
    chances: str
    now_on: str
    stopped: tuple[tuple[int, str, str], ...]
    waiting: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Due:
    """A delivery or a hold point of these two weeks."""

    kind: str
    van: str
    build: int | None
    what: str
    on: date
    is_overdue: bool


@dataclass(frozen=True, slots=True)
class HoursLine:
    trade: str
    needed: float
    there: float


@dataclass(frozen=True)
class WeekOfHours:
    monday: date
    is_now: bool
    lines: tuple[HoursLine, ...]
    hands: HoursLine
    longest: float


@dataclass(frozen=True)
class OwnerWeek:
    today: date
    vans: tuple[VanLine, ...]
    to_come: tuple[VanLine, ...]
    needs_you: tuple[NeedsYou, ...]
    deliveries: tuple[Due, ...]
    checks: tuple[Due, ...]
    hours: tuple[WeekOfHours, ...]
    told_on: date | None
    changes: tuple[ToldChange, ...]
    people: tuple[tuple[int, str], ...]


def owner_week(now: datetime, *, shop: Shop) -> OwnerWeek:
    """Reads the owner's page; eight queries, whatever the size of the shop."""
    times = opening_times(shop)
    today = times.day_of(now)
    this, following = this_and_next(today)
    state = PlanState.objects.filter(pk=1).first()
    builds = _builds(this)
    names = {b.pk: b.name for b in builds}
    work = read_work(agreed_tasks().exclude(state="done"), reasons=False)
    people = people_at_work(times, today)
    ends = _open_ends()
    forecasts = {b.pk: forecast_of(b, state, times) for b in builds}
    lines = tuple(
        _van(b, work, ends, forecasts[b.pk], chances_of(b, state, shop, times).words, times, now)
        for b in builds
    )
    changes = changes_since_told(work, today, times, {p.pk: p.short_name for p in people})
    hours = tuple(_hours(m, now, times, shop, people, work) for m in (this, following))
    over = [
        (line.trade, "this week" if week.is_now else "next week", line.needed - line.there)
        for week in hours
        for line in week.lines
    ]
    matters = Matters(builds, forecasts, work, ends, people, state, over, times, today)
    return OwnerWeek(
        today=today,
        vans=tuple(line for line in lines if line.week is not None),
        to_come=tuple(line for line in lines if line.week is None),
        needs_you=needs_of(matters),
        deliveries=_deliveries(ends, names, today, following + WEEK),
        checks=_checks(work, names, times, following + WEEK),
        hours=hours,
        told_on=shop.told_monday,
        changes=changes,
        people=tuple((p.pk, p.name) for p in people if not p.is_visitor),
    )


def _builds(monday: date) -> list[Build]:
    """Agreed builds with this week's aim and whether last week's sheet went out."""
    stage = Stage.objects.filter(build=OuterRef("pk"), monday=monday)
    sheet = ProgressSheet.objects.filter(stage__build=OuterRef("pk"), stage__monday=monday)
    last = ProgressSheet.objects.filter(stage__build=OuterRef("pk"), stage__monday=monday - WEEK)
    papers = HoldPoint.objects.filter(
        task__build=OuterRef("pk"),
        task__removed_at=None,
        certificate_due=True,
        certificate="",
        state="passed",
    )
    snags = Snag.objects.filter(build=OuterRef("pk"), put_right_at=None)
    return list(
        Build.objects.to_plan()
        .select_related("customer")
        .annotate(
            aim=Subquery(stage.values("aim")[:1]),
            sent_this=Subquery(sheet.values("sent_at")[:1]),
            sent_last=Subquery(last.values("sent_at")[:1]),
            a_snag=Subquery(snags.values("pk")[:1]),
            a_paper=Subquery(papers.values("name")[:1]),
            not_agreed=Subquery(unsettled().filter(build=OuterRef("pk")).values("task__name")[:1]),
        )
    )


def _open_ends() -> list[OpenEnd]:
    """Deliveries not here and questions not decided, in one query."""
    deliveries = Delivery.objects.order_by().filter(on_shelf_on=None)
    decisions = Decision.objects.order_by().filter(decided_on=None, build__status="agreed")

    def rows(found: QuerySet, kind: str, day: str, supplier: Expression) -> QuerySet:
        return found.annotate(
            kind=Value(kind, CharField()),
            words=Cast("what", CharField(max_length=200)),
            on=Cast(day, DateField()),
            van=Cast("build_id", IntegerField()),
            of=supplier,
        ).values_list("kind", "words", "on", "van", "of", "pk")

    nobody = Value("", CharField())
    by = Coalesce(Cast("supplier__name", CharField(max_length=200)), nobody)
    shelf = rows(deliveries.exclude(arrived_on=None), "shelf", "arrived_on", by)
    awaited = rows(deliveries.filter(arrived_on=None), "delivery", "expected_on", by)
    found = awaited.union(shelf, rows(decisions, "decision", "needed_by", nobody), all=True)
    in_order = sorted(found, key=lambda row: (row[2], row[0], row[-1]))
    return [OpenEnd(*row[:-1]) for row in in_order]


def _van(
    build: Build,
    work: Sequence[Work],
    ends,
    forecast: Forecast,
    chances: str,
    times: OpeningTimes,
    now: datetime,
) -> VanLine:
    today = times.day_of(now)
    week, weeks = week_of_build(build, today, times)
    mine = [w for w in work if w.build == build.pk]
    return VanLine(
        pk=build.pk,
        name=build.name,
        customer=build.customer.name,
        week=week,
        weeks=weeks,
        arrives_on=build.arrives_on,
        aim=build.aim or "",
        forecast=forecast,
        chances=chances,
        now_on=_now_on(mine, today, times),
        stopped=tuple((w.pk, w.name, w.stop_reason) for w in mine if w.state == "stopped"),
        waiting=tuple(_waits(build, ends, today)),
    )


def _now_on(mine: Sequence[Work], today: date, times: OpeningTimes) -> str:
    """What is being done on it today: groups of the work under way or planned for today."""
    found = [
        w
        for w in mine
        if w.state == "under way"
        or (w.state == "to do" and w.start is not None and times.day_of(w.start) <= today)
    ]
    return ", ".join(dict.fromkeys(f"{w.group_name}: {w.name[:1].lower()}{w.name[1:]}" for w in found[:3]))


def _waits(build: Build, ends: Iterable[OpenEnd], today: date) -> Iterable[str]:
    mine = [end for end in ends if end.build == build.pk]
    found = [
        (one.on, f"{one.words}, to come {day_words(one.on)}")
        for one in together(end for end in mine if end.kind == "delivery")
    ]
    for end in mine:
        if end.kind == "decision":
            asked = f"{end.what[:1].lower()}{end.what[1:]}, by {day_words(end.on)}"
            found.append((end.on, f"the customer’s word on {asked}"))
    for on, words in sorted(found, key=lambda row: row[0]):
        yield f"{words}, overdue" if on < today else words


def _hours(monday: date, now, times: OpeningTimes, shop: Shop, people: Sequence[Somebody], work):
    counted: WeekHours = week_hours(
        monday,
        now=now,
        times=times,
        plannable_share=float(shop.plannable_share),
        people=people,
        rows=work,
    )
    names = {w.trade: w.trade_name for w in work}
    lines = tuple(_line(t, names) for t in counted.trades if t.needed)
    return WeekOfHours(
        monday=monday,
        is_now=monday <= times.day_of(now) < monday + WEEK,
        lines=tuple(sorted(lines, key=lambda h: h.there - h.needed)),
        hands=HoursLine("All hands", halves(counted.hands.needed), halves(counted.hands.there)),
        longest=max([h.needed for h in lines] + [h.there for h in lines], default=1.0),
    )


def _line(trade: HoursOfTrade, names: dict[str, str]) -> HoursLine:
    return HoursLine(names.get(trade.trade, trade.trade), halves(trade.needed), halves(trade.there))


def _deliveries(ends: Iterable[OpenEnd], names: dict[int, str], today: date, end: date) -> tuple[Due, ...]:
    return tuple(
        Due(
            "delivery",
            listed([names.get(build, "the shop") for build in sorted(one.builds, key=lambda b: b == 0)]),
            one.builds[0] or None,
            one.words,
            one.on,
            one.on < today,
        )
        for one in together(row for row in ends if row.kind == "delivery" and row.on < end)
    )


def _checks(work: Iterable[Work], names: dict[int, str], times: OpeningTimes, end: date) -> tuple[Due, ...]:
    found = []
    for row in work:
        on = times.day_of(row.finish) if row.finish else None
        if row.is_open_check and on is not None and on < end:
            found.append(Due("check", names.get(row.build, ""), row.build, row.check, on, False))
    return tuple(sorted(found, key=lambda d: d.on))
