"""The wall sheet: vans down, weeks across; in a cell the van's work of that week by unit and installation."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.db.models import Q

from builds.models import Build, PlanState, Shop
from builds.queries.capacity import WeekHours, hours_in_weeks, week_hours
from builds.queries.fitters import people_at_work
from builds.queries.forecast import Forecast, forecast_of
from builds.queries.opening import OpeningTimes, monday_of, opening_times
from builds.queries.planned_work import Work, agreed_tasks, mark_of, read_work
from builds.templatetags.words import calendar_week, hours, week_of

WEEK = timedelta(days=7)
MOST_WEEKS = 13


@dataclass(frozen=True, slots=True)
class WeekHead:
    """One week at the top: its words, and what the shop has and needs in it."""

    monday: date
    number: str
    words: str
    is_now: bool
    is_told: bool
    is_closed: bool
    needed: int
    there: int
    over: tuple[str, ...]

    @property
    def classes(self) -> str:
        return _classes(is_now=self.is_now, is_told=self.is_told, is_closed=self.is_closed)


@dataclass(frozen=True, slots=True)
class Item:
    """One line in a cell: a unit's or installation's work of the week, or one task of one van.

    `key` names it for a move; empty where nothing of it can be moved any more.
    """

    key: str
    mark: str
    name: str
    hours: str
    shape: str
    title: str
    is_pinned: bool
    url_task: int | None


@dataclass(frozen=True, slots=True)
class Cell:
    monday: date
    classes: str
    stage: str
    events: tuple[str, ...]
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class WallRow:
    """A van, or one unit of one van, with a cell for each week."""

    key: str
    name: str
    under: str
    van: int
    forecast: Forecast | None
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class WallSheet:
    weeks: tuple[WeekHead, ...]
    rows: tuple[WallRow, ...]
    today: date
    vans: tuple[tuple[int, str], ...]
    van: int | None

    @property
    def first(self) -> date:
        return self.weeks[0].monday

    @property
    def earlier(self) -> date:
        return self.first - len(self.weeks) * WEEK

    @property
    def later(self) -> date:
        return self.first + len(self.weeks) * WEEK


@dataclass
class _Bits:
    """What is gathered for one cell: work with the hours of it that fall into the week."""

    work: list[tuple[Work, float]] = field(default_factory=list)


def wall_sheet(
    now: datetime, *, first: date | None = None, weeks: int = 6, van: int | None = None, shop: Shop
) -> WallSheet:
    """Reads the weeks from `first` (this week unless given) for all vans, or for one by its units.

    Eight queries, whatever the size of the shop.
    """
    times = opening_times(shop)
    today = times.day_of(now)
    first = monday_of(first or today)
    mondays = [first + n * WEEK for n in range(max(1, min(weeks, MOST_WEEKS)))]
    builds = list(Build.objects.to_plan().filter(Q(handed_over_on=None)).select_related("customer"))
    state = PlanState.objects.filter(pk=1).first()
    work = _work_in(mondays, times)
    heads = tuple(_heads(mondays, now, times, shop, work, today))
    shown = [w for w in work if van is None or w.build == van]
    cells = _spread(shown, mondays, times, by_group=van is not None)
    rows = (
        _rows_of_van(builds, van, cells, heads, times) if van else _rows(builds, cells, heads, times, state)
    )
    return WallSheet(
        weeks=heads,
        rows=tuple(rows),
        today=today,
        vans=tuple((b.pk, b.name) for b in builds),
        van=van,
    )


def _work_in(mondays: Sequence[date], times: OpeningTimes) -> list[Work]:
    """All unfinished work, and what was done in these weeks."""
    start, end = times.start_of(mondays[0]), times.start_of(mondays[-1] + WEEK)
    done_here = Q(state="done", finished_at__gte=start, finished_at__lt=end)
    return read_work(agreed_tasks().filter(done_here | ~Q(state="done")))


def _heads(mondays, now, times: OpeningTimes, shop: Shop, work: list[Work], today: date):
    people = people_at_work(times, today)
    names = {w.trade: w.trade_name for w in work}
    unfinished = [w for w in work if w.state != "done"]
    for monday in mondays:
        counted = (
            week_hours(
                monday,
                now=now,
                times=times,
                plannable_share=float(shop.plannable_share),
                people=people,
                rows=unfinished,
            )
            if monday + WEEK > today
            else None
        )
        yield WeekHead(
            monday=monday,
            number=calendar_week(monday),
            words=week_of(monday),
            is_now=monday <= today < monday + WEEK,
            is_told=bool(shop.told_monday and shop.told_monday <= monday <= shop.told_monday + WEEK),
            is_closed=not times.open_days(monday),
            needed=round(counted.hands.needed) if counted else 0,
            there=round(counted.hands.there) if counted else 0,
            over=_over(counted, names) if counted else (),
        )


def _over(counted: WeekHours, names: dict[str, str]) -> tuple[str, ...]:
    return tuple(
        f"{names.get(t.trade, t.trade)} {hours(round(t.over))} over" for t in counted.trades if t.over >= 1
    )


def _spread(work: Iterable[Work], mondays: Sequence[date], times: OpeningTimes, *, by_group: bool):
    """Lays work into cells by row and week: by van, or by unit of one van."""
    bounds = [times.start_of(m) for m in [*mondays, mondays[-1] + WEEK]]
    opening = times.for_planner(mondays[0] - 9 * WEEK, mondays[-1] + 9 * WEEK)
    cells: dict[tuple, dict[int, _Bits]] = defaultdict(lambda: defaultdict(_Bits))
    for row in work:
        key = row.group if by_group else ("van", row.build)
        for week, part in hours_in_weeks(row, bounds, opening).items():
            cells[key][week].work.append((row, part))
    return cells


def _rows(builds: list[Build], cells, heads, times: OpeningTimes, state: PlanState | None):
    for build in builds:
        forecast = forecast_of(build, state, times)
        found = cells.get(("van", build.pk), {})
        row = tuple(
            _cell(head, found.get(n), times, build=build, forecast=forecast, by_task=False)
            for n, head in enumerate(heads)
        )
        yield WallRow(f"van-{build.pk}", build.name, build.customer.name, build.pk, forecast, row)


def _rows_of_van(builds: list[Build], van: int, cells, heads, times: OpeningTimes):
    build = next((b for b in builds if b.pk == van), None)
    if build is None:
        return
    groups: dict[tuple, tuple[int, str]] = {}
    for key, weeks in cells.items():
        some = next(iter(weeks.values())).work[0][0]
        groups[key] = (some.group_order, some.group_name)
    for key, (_, name) in sorted(groups.items(), key=lambda g: (g[1][0], g[0])):
        row = tuple(
            _cell(head, cells[key].get(n), times, build=build, forecast=None, by_task=True)
            for n, head in enumerate(heads)
        )
        yield WallRow(f"{key[0]}-{key[1]}", name, "", van, None, row)


def _cell(head: WeekHead, bits: _Bits | None, times: OpeningTimes, *, build, forecast, by_task: bool) -> Cell:
    work = bits.work if bits else []
    before = build.arrives_on is None or head.monday + WEEK <= build.arrives_on
    items = _tasks(work, head) if by_task else _groups(work, head, times)
    return Cell(
        monday=head.monday,
        classes=_classes(is_now=head.is_now, is_closed=head.is_closed, is_before=before),
        stage="" if by_task else _stage(build, head, times),
        events=() if by_task else tuple(_events(build, forecast, head)),
        items=tuple(items),
    )


def _stage(build: Build, head: WeekHead, times: OpeningTimes) -> str:
    if build.arrives_on is None or head.is_closed or head.monday + WEEK <= build.arrives_on:
        return ""
    return f"week {times.week_number(build.arrives_on, head.monday + timedelta(days=6))}"


def _events(build: Build, forecast: Forecast, head: WeekHead):
    """What happens to the van as a whole in that week, each with its shape."""
    end = head.monday + WEEK
    if build.arrives_on and head.monday <= build.arrives_on < end:
        yield "van", f"comes {_short(build.arrives_on)}"
    if build.promised_on and head.monday <= build.promised_on < end:
        yield "told", f"promised {_short(build.promised_on)}"
    if forecast.handover and head.monday <= forecast.handover < end:
        yield ("late" if forecast.is_late else "good"), f"handover {_short(forecast.handover)}"


def _short(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


def _groups(work: list[tuple[Work, float]], head: WeekHead, times: OpeningTimes):
    by_group: dict[tuple, list[tuple[Work, float]]] = defaultdict(list)
    for row, part in work:
        by_group[row.group].append((row, part))
    for group, rows in sorted(by_group.items(), key=lambda g: (g[1][0][0].group_order, g[0])):
        movable = [w for w, _ in rows if _can_move(w) and _starts_in(w, head, times)]
        yield Item(
            key=f"{group[0]}-{group[1]}:{head.monday}" if movable else "",
            mark=mark_of(movable),
            name=rows[0][0].group_name,
            hours=_halves(sum(part * w.crew for w, part in rows)),
            shape=_shape_of([w for w, _ in rows]),
            title="; ".join(w.name for w, _ in rows),
            is_pinned=any(w.pin for w, _ in rows),
            url_task=None,
        )


def _tasks(work: list[tuple[Work, float]], head: WeekHead):
    for row, part in work:
        yield Item(
            key=str(row.pk) if _can_move(row) else "",
            mark=mark_of([row]),
            name=row.name,
            hours=_halves(part * row.crew),
            shape=_shape_of([row]),
            title="",
            is_pinned=row.pin is not None,
            url_task=row.pk,
        )


def _halves(value: float) -> str:
    """Hours on the wall in halves: the figures are plus or minus a third anyway."""
    return hours(max(0.5, round(value * 2) / 2))


def _can_move(row: Work) -> bool:
    return row.state in ("to do", "stopped")


def _starts_in(row: Work, head: WeekHead, times: OpeningTimes) -> bool:
    return row.start is not None and monday_of(times.day_of(row.start)) == head.monday


def _shape_of(rows: Sequence[Work]) -> str:
    """The most telling shape of some work: stopped before anything, then a check that is due."""
    states = {w.state for w in rows}
    if "stopped" in states:
        return "stopped"
    if any(w.is_open_check for w in rows):
        return "hold"
    if states == {"done"}:
        return "done"
    return "under way" if "under way" in states else "to do"


def move_choices(now: datetime, shop: Shop) -> tuple[tuple[date, str], ...]:
    """The open weeks that work can be moved to, for the form that moves it."""
    times = opening_times(shop)
    return _choices(times.day_of(now), times)


def _choices(today: date, times: OpeningTimes) -> tuple[tuple[date, str], ...]:
    """The open weeks that work can be moved to."""
    mondays = times.open_weeks(today, today + 30 * WEEK)
    return tuple((m, f"week {calendar_week(m)}, {week_of(m)}") for m in mondays)


def _classes(**flags: bool) -> str:
    return " ".join(name.replace("_", "-") for name, on in flags.items() if on)
