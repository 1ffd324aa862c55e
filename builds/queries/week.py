"""The owner's week: each van, what waits, what is due, hours against hours, what needs the owner now."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import CharField, DateField, IntegerField, OuterRef, QuerySet, Subquery, Value
from django.db.models.functions import Cast

from builds.models import Build, Decision, Delivery, PlanState, ProgressSheet, Shop, Snag, Stage
from builds.queries.build_page import UNPLANNED_WORDS
from builds.queries.builds import week_of_build
from builds.queries.capacity import HoursOfTrade, WeekHours, halves, this_and_next, week_hours
from builds.queries.fitters import Somebody, people_at_work
from builds.queries.forecast import Forecast, forecast_of
from builds.queries.opening import OpeningTimes, monday_of, opening_times
from builds.queries.planned_work import Work, agreed_tasks, read_work
from builds.queries.told import ToldChange, changes_since_told
from builds.templatetags.words import day as day_words
from builds.templatetags.words import hours as hours_words

WEEK = timedelta(days=7)
LONGEST_LIST = 12


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
class NeedsYou:
    """One thing only the owner can do, with where to do it: a url name and its arguments."""

    tone: str
    words: str
    url: str
    args: tuple[int, ...]


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


@dataclass(frozen=True, slots=True)
class _Open:
    """A delivery, a decision or an unsent sheet, as read in one query."""

    kind: str
    what: str
    on: date
    build: int | None


def owner_week(now: datetime, *, shop: Shop) -> OwnerWeek:
    """Reads the owner's page; eight queries, whatever the size of the shop."""
    times = opening_times(shop)
    today = times.day_of(now)
    this, following = this_and_next(today)
    state = PlanState.objects.filter(pk=1).first()
    builds = _builds(this)
    names = {b.pk: b.name for b in builds}
    work = read_work(agreed_tasks().exclude(state="done"))
    people = people_at_work(times, today)
    ends = _open_ends()
    lines = tuple(_van(b, work, ends, state, times, now) for b in builds)
    changes = changes_since_told(work, today, times, {p.pk: p.short_name for p in people})
    hours = tuple(_hours(m, now, times, shop, people, work) for m in (this, following))
    return OwnerWeek(
        today=today,
        vans=tuple(line for line in lines if line.week is not None),
        to_come=tuple(line for line in lines if line.week is None),
        needs_you=tuple(_needs(lines, builds, ends, work, state, hours, times, today))[:LONGEST_LIST],
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
    snags = Snag.objects.filter(build=OuterRef("pk"), put_right_at=None)
    return list(
        Build.objects.to_plan()
        .select_related("customer")
        .annotate(
            aim=Subquery(stage.values("aim")[:1]),
            sent_this=Subquery(sheet.values("sent_at")[:1]),
            sent_last=Subquery(last.values("sent_at")[:1]),
            a_snag=Subquery(snags.values("pk")[:1]),
        )
    )


def _open_ends() -> list[_Open]:
    """Deliveries not here and questions not decided, in one query."""
    deliveries = Delivery.objects.order_by().filter(on_shelf_on=None)
    decisions = Decision.objects.order_by().filter(decided_on=None, build__status="agreed")

    def rows(found: QuerySet, kind: str, day: str) -> QuerySet:
        return found.annotate(
            kind=Value(kind, CharField()),
            words=Cast("what", CharField(max_length=200)),
            on=Cast(day, DateField()),
            van=Cast("build_id", IntegerField()),
        ).values_list("kind", "words", "on", "van")

    shelf = rows(deliveries.exclude(arrived_on=None), "shelf", "arrived_on")
    awaited = rows(deliveries.filter(arrived_on=None), "delivery", "expected_on")
    found = awaited.union(shelf, rows(decisions, "decision", "needed_by"), all=True)
    return sorted((_Open(*row) for row in found), key=lambda row: row.on)


def _van(build: Build, work: Sequence[Work], ends, state, times: OpeningTimes, now: datetime) -> VanLine:
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
        forecast=forecast_of(build, state, times),
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


def _waits(build: Build, ends: Iterable[_Open], today: date) -> Iterable[str]:
    for end in ends:
        if end.build == build.pk and end.kind == "delivery":
            late = ", overdue" if end.on < today else ""
            yield f"{end.what}, to come {day_words(end.on)}{late}"
        elif end.build == build.pk and end.kind == "decision":
            late = ", overdue" if end.on < today else ""
            yield f"the customer’s word on {end.what[:1].lower()}{end.what[1:]}, by {day_words(end.on)}{late}"


def _needs(lines, builds, ends, work, state, hours, times: OpeningTimes, today: date) -> Iterable[NeedsYou]:
    """What needs the owner now, the heaviest first."""
    names = {b.pk: b.name for b in builds}
    for line in lines:
        if line.forecast.is_late:
            yield NeedsYou("late", f"{line.name} is forecast {line.forecast.words}", "build-page", (line.pk,))
    yield from _left_out(work, state, names)
    for end in ends:
        van = names.get(end.build or 0, "")
        if end.kind == "delivery" and end.on < today and van:
            words = f"{end.what} for {van} was to come {day_words(end.on)}"
            yield NeedsYou("late", words, "delivery-list", ())
        elif end.kind == "decision" and end.on <= today + WEEK and van:
            words = f"{van}: ask about {end.what[:1].lower()}{end.what[1:]}, by {day_words(end.on)}"
            yield NeedsYou("late" if end.on < today else "care", words, "decision-list", ())
        elif end.kind == "shelf" and van:
            words = f"{end.what} came, but is not on {van}’s kit shelf"
            yield NeedsYou("care", words, "delivery-list", ())
    for line in lines:
        for pk, name, why in line.stopped:
            yield NeedsYou("care", f"{line.name}: “{name}” is stopped, {why}", "task", (line.pk, pk))
    yield from _sheets(builds, times, today)
    yield from _too_much(hours)


def _left_out(work: Iterable[Work], state: PlanState | None, names: dict[int, str]) -> Iterable[NeedsYou]:
    known = {w.pk: w for w in work}
    for left_out in state.unplanned if state else []:
        row = known.get(int(left_out["task"]))
        if row is not None and left_out["code"] != "follows":
            why = UNPLANNED_WORDS.get(left_out["code"], left_out["code"])
            words = f"{names.get(row.build, '')}: “{row.name}” can’t be planned, {why}"
            yield NeedsYou("late", words, "task", (row.build, row.pk))


def _sheets(builds: Iterable[Build], times: OpeningTimes, today: date) -> Iterable[NeedsYou]:
    this = monday_of(today)
    for build in builds:
        here = build.arrives_on is not None and build.arrives_on <= today
        if here and build.arrives_on < this and not build.sent_last and times.open_days(this - WEEK):
            words = f"{build.name}: last week’s progress sheet is not sent"
            yield NeedsYou("care", words, "build-papers", (build.pk,))
        elif here and today.weekday() >= 4 and not build.sent_this:
            yield NeedsYou("care", f"{build.name}: Friday, the progress sheet", "build-papers", (build.pk,))


def _too_much(hours: Sequence[WeekOfHours]) -> Iterable[NeedsYou]:
    for week in hours:
        for line in week.lines:
            over = line.needed - line.there
            if over >= 4:
                when = "this week" if week.is_now else "next week"
                words = f"{line.trade}: {hours_words(over)} more needed {when} than there are"
                yield NeedsYou("care", words, "wall", ())


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
        hands=HoursLine("All hands", counted.hands.needed, counted.hands.there),
        longest=max([h.needed for h in lines] + [h.there for h in lines], default=1.0),
    )


def _line(trade: HoursOfTrade, names: dict[str, str]) -> HoursLine:
    return HoursLine(names.get(trade.trade, trade.trade), halves(trade.needed), halves(trade.there))


def _deliveries(ends: Iterable[_Open], names: dict[int, str], today: date, end: date) -> tuple[Due, ...]:
    return tuple(
        Due("delivery", names.get(row.build or 0, "the shop"), row.build, row.what, row.on, row.on < today)
        for row in ends
        if row.kind == "delivery" and row.on < end
    )


def _checks(work: Iterable[Work], names: dict[int, str], times: OpeningTimes, end: date) -> tuple[Due, ...]:
    found = []
    for row in work:
        on = times.day_of(row.finish) if row.finish else None
        if row.is_open_check and on is not None and on < end:
            found.append(Due("check", names.get(row.build, ""), row.build, row.check, on, False))
    return tuple(sorted(found, key=lambda d: d.on))
