"""The wall sheet: vans down, weeks across; in a cell the van's work of that week by unit and installation."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Q

from builds.models import Build, PlanState, Shop
from builds.queries.build_page import why_left_out
from builds.queries.capacity import WeekHours, halves, hours_in_weeks, week_hours
from builds.queries.fitters import people_at_work
from builds.queries.forecast import Forecast, forecast_of
from builds.queries.opening import OpeningTimes, monday_of, opening_times
from builds.queries.planned_work import Work, agreed_tasks, mark_of, read_work
from builds.queries.wall_cells import (
    WEEK,
    Cell,
    Share,
    can_move,
    classes,
    events_of,
    is_after,
    is_before,
    items_by_group,
    items_by_task,
)
from builds.templatetags.words import calendar_week, hours, week_of

MOST_WEEKS = 13


@dataclass(frozen=True, slots=True)
class WeekHead:
    """One week at the top: its words, the days in it that the shop is closed."""

    monday: date
    number: str
    words: str
    closed: str
    is_now: bool
    is_closed: bool
    classes: str


@dataclass(frozen=True, slots=True)
class WeekFoot:
    """One week at the foot: hours of all hands needed and there, and the trades that lack some.

    None of it is counted for weeks that are over.
    """

    is_counted: bool
    needed: float
    there: float
    over: tuple[str, ...]
    classes: str


@dataclass(frozen=True, slots=True)
class WallRow:
    """A van, or one unit of one van, with a cell for each week.

    `key` and `mark` name all that is still to do of a unit, for a move; empty where nothing is.
    """

    key: str
    mark: str
    name: str
    under: str
    van: int
    forecast: Forecast | None
    left_out: int
    cells: tuple[Cell, ...]

    @property
    def left_out_words(self) -> str:
        return "1 task in no week" if self.left_out == 1 else f"{self.left_out} tasks in no week"


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A task that stands in no week, and why."""

    task: int
    name: str
    group_name: str
    why: str


@dataclass(frozen=True)
class WallSheet:
    """`van` is the one that is shown by its units, `left_out` what of it can't be planned."""

    weeks: tuple[WeekHead, ...]
    rows: tuple[WallRow, ...]
    feet: tuple[WeekFoot, ...]
    today: date
    vans: tuple[tuple[int, str], ...]
    van: int | None
    left_out: tuple[LeftOut, ...]

    @property
    def van_name(self) -> str | None:
        return dict(self.vans).get(self.van) if self.van else None

    @property
    def first(self) -> date:
        return self.weeks[0].monday

    @property
    def earlier(self) -> date:
        return self.first - len(self.weeks) * WEEK

    @property
    def later(self) -> date:
        return self.first + len(self.weeks) * WEEK

    @property
    def most_hours(self) -> float:
        return max([f.needed for f in self.feet] + [f.there for f in self.feet])


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
    builds = list(Build.objects.to_plan().select_related("customer"))
    state = PlanState.objects.filter(pk=1).first()
    work = _work_in(mondays, times)
    left_out = list(_left_out(work, state))
    heads = tuple(_head(m, today, times, shop) for m in mondays)
    shown = [w for w in work if van is None or w.build == van]
    cells = _spread(shown, mondays, times, by_group=van is not None)
    forecasts = {b.pk: forecast_of(b, state, times) for b in builds}
    if van is None:
        counts = {b.pk: sum(w.build == b.pk for w, _ in left_out) for b in builds}
        rows = _rows(builds, cells, heads, times, forecasts, counts)
    else:
        rows = _rows_of_van([b for b in builds if b.pk == van], shown, cells, heads, times, forecasts)
    return WallSheet(
        weeks=heads,
        rows=tuple(rows),
        feet=tuple(_feet(heads, now, times, shop, work, today)),
        today=today,
        vans=tuple((b.pk, b.name) for b in builds),
        van=van,
        left_out=tuple(LeftOut(w.pk, w.name, w.group_name, why) for w, why in left_out if w.build == van),
    )


def _work_in(mondays: Sequence[date], times: OpeningTimes) -> list[Work]:
    """All unfinished work, and what was done in these weeks."""
    start, end = times.start_of(mondays[0]), times.start_of(mondays[-1] + WEEK)
    done_here = Q(state="done", finished_at__gte=start, finished_at__lt=end)
    return read_work(agreed_tasks().filter(done_here | ~Q(state="done")), reasons=False)


def _left_out(work: Iterable[Work], state: PlanState | None) -> Iterator[tuple[Work, str]]:
    why = {int(u["task"]): u["code"] for u in state.unplanned} if state else {}
    for row in work:
        if row.pk in why and row.state != "done":
            yield row, why_left_out(why[row.pk], row.trade_name)


def _head(monday: date, today: date, times: OpeningTimes, shop: Shop) -> WeekHead:
    is_now = monday <= today < monday + WEEK
    is_told = bool(shop.told_monday and shop.told_monday <= monday <= shop.told_monday + WEEK)
    is_closed = not times.open_days(monday)
    return WeekHead(
        monday=monday,
        number=calendar_week(monday),
        words=week_of(monday),
        closed="closed" if is_closed else _closed_days(monday, times),
        is_now=is_now,
        is_closed=is_closed,
        classes=classes(is_now=is_now, is_told=is_told, is_closed=is_closed),
    )


def _closed_days(monday: date, times: OpeningTimes) -> str:
    days = (monday + timedelta(days=n) for n in range(7))
    shut = [f"{d:%a} {d.day}" for d in days if times.why_closed(d)]
    return f"closed {', '.join(shut)}" if shut else ""


def _feet(
    heads: Sequence[WeekHead], now: datetime, times: OpeningTimes, shop: Shop, work: list[Work], today: date
) -> Iterator[WeekFoot]:
    people = people_at_work(times, today)
    names = {w.trade: w.trade_name for w in work}
    unfinished = [w for w in work if w.state != "done"]
    for head in heads:
        marks = classes(is_now=head.is_now, is_closed=head.is_closed)
        if head.monday + WEEK <= today:
            yield WeekFoot(False, 0, 0, (), marks)
            continue
        counted = week_hours(
            head.monday,
            now=now,
            times=times,
            plannable_share=float(shop.plannable_share),
            people=people,
            rows=unfinished,
        )
        needed, there = halves(counted.hands.needed), halves(counted.hands.there)
        yield WeekFoot(True, needed, there, _over(counted, names), marks)


def _over(counted: WeekHours, names: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(
        f"{names.get(t.trade, t.trade)}: {hours(halves(t.over))} too many"
        for t in counted.trades
        if t.over >= 1
    )


def _spread(
    work: Iterable[Work], mondays: Sequence[date], times: OpeningTimes, *, by_group: bool
) -> dict[tuple, dict[int, list[Share]]]:
    """Lays work into cells by row and week: by van, or by unit of one van."""
    bounds = [times.start_of(m) for m in [*mondays, mondays[-1] + WEEK]]
    opening = times.for_planner(mondays[0] - 9 * WEEK, mondays[-1] + 9 * WEEK)
    cells: dict[tuple, dict[int, list[Share]]] = defaultdict(lambda: defaultdict(list))
    for row in work:
        key = row.group if by_group else ("van", row.build)
        for week, part in hours_in_weeks(row, bounds, opening).items():
            cells[key][week].append((row, part))
    return cells


def _rows(builds, cells, heads, times: OpeningTimes, forecasts, left_out) -> Iterator[WallRow]:
    for build in builds:
        forecast = forecasts[build.pk]
        found = cells.get(("van", build.pk), {})
        row = tuple(_van_cell(h, found.get(n, ()), times, build, forecast) for n, h in enumerate(heads))
        yield WallRow("", "", build.name, build.customer.name, build.pk, forecast, left_out[build.pk], row)


def _van_cell(head: WeekHead, work: Sequence[Share], times: OpeningTimes, build, forecast) -> Cell:
    before, after = is_before(build, head.monday), is_after(build, forecast, head.monday)
    stage = ""
    if not (before or after or head.is_closed):
        stage = f"week {times.week_number(build.arrives_on, head.monday + timedelta(days=6))}"
    return Cell(
        monday=head.monday,
        classes=classes(is_now=head.is_now, is_closed=head.is_closed, is_before=before, is_after=after),
        stage=stage,
        events=tuple(events_of(build, forecast, head.monday)),
        items=tuple(items_by_group(work, head.monday, times)),
    )


def _rows_of_van(
    builds, work: Sequence[Work], cells, heads, times: OpeningTimes, forecasts
) -> Iterator[WallRow]:
    """The van's own weeks first, then a row for each unit and installation that has work in them."""
    for build in builds:
        forecast = forecasts[build.pk]
        own = tuple(_van_cell(h, (), times, build, forecast) for h in heads)
        yield WallRow("", "", build.name, build.customer.name, build.pk, forecast, 0, own)
        groups = {key: next(iter(weeks.values()))[0][0] for key, weeks in cells.items()}
        for key, some in sorted(groups.items(), key=lambda g: (g[1].group_order, g[0])):
            row = tuple(
                _task_cell(h, cells[key].get(n, ()), times, build, forecast) for n, h in enumerate(heads)
            )
            movable = [w for w in work if w.group == key and can_move(w)]
            whole = f"{key[0]}-{key[1]}" if movable else ""
            yield WallRow(
                whole, mark_of(movable) if movable else "", some.group_name, "", build.pk, None, 0, row
            )


def _task_cell(head: WeekHead, work: Sequence[Share], times: OpeningTimes, build, forecast) -> Cell:
    marks = classes(
        is_now=head.is_now,
        is_closed=head.is_closed,
        is_before=is_before(build, head.monday),
        is_after=is_after(build, forecast, head.monday),
    )
    return Cell(head.monday, marks, "", (), tuple(items_by_task(work, head.monday, times)))


def move_choices(now: datetime, shop: Shop) -> tuple[tuple[date, str], ...]:
    """The open weeks that work can be moved to, for the form that moves it."""
    times = opening_times(shop)
    today = times.day_of(now)
    mondays = times.open_weeks(today, today + 30 * WEEK)
    return tuple((m, f"week {calendar_week(m)}, {week_of(m)}") for m in mondays)
