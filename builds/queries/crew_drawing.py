"""The crew sheet drawn: people or vans down, many weeks across, every piece of work at its hours."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from builds.models import Build, Delivery, PlanState, Shop
from builds.queries.day_feet import Wait, waits_between
from builds.queries.drawing_axis import DayAxis, day_axis
from builds.queries.fitters import Somebody, people_at_work
from builds.queries.forecast import forecast_of
from builds.queries.opening import OpeningTimes, instant, monday_of, opening_times
from builds.queries.planned_work import Work, agreed_tasks, between, read_work
from builds.templatetags.words import calendar_week
from builds.templatetags.words import day as day_words

DAY_PX = {4: 54, 6: 36, 12: 18}
"""Width of a day by how many weeks are drawn: all of them fit on a desk screen and on A3."""

HEAD_PX, LANE_PX, PAD_PX, ROW_PX = 44, 20, 5, 36
CHARACTER_PX = 6.2
FILLS = {"done": "fill-band", "under way": "fill-work", "stopped": "fill-late-tint"}


@dataclass(frozen=True, slots=True)
class Bar:
    """One piece of work. `label` stands in it where there is room.

    `pieces` are (x, width): more than one, or less than all of it, where a visitor does it on booked days.
    """

    x: int
    y: int
    width: int
    fill: str
    label: str
    title: str
    build: int
    task: int
    has_check: bool
    pieces: tuple[tuple[int, int], ...]

    @property
    def end(self) -> int:
        return self.x + self.width

    @property
    def has_gaps(self) -> bool:
        return self.pieces != ((self.x, self.width),)

    @property
    def middle(self) -> int:
        return self.y + 8


@dataclass(frozen=True, slots=True)
class Stretch:
    """A wait as a line, or a stretch of a row somebody is away or booked."""

    x: int
    width: int
    y: int
    height: int
    kind: str
    title: str

    @property
    def end(self) -> int:
        return self.x + self.width


@dataclass(frozen=True, slots=True)
class Spot:
    """Something on one day, as a shape."""

    x: int
    y: int
    shape: str
    title: str


@dataclass(frozen=True, slots=True)
class DrawnRow:
    name: str
    under: str
    y: int
    height: int
    bars: tuple[Bar, ...]
    stretches: tuple[Stretch, ...]
    spots: tuple[Spot, ...]

    @property
    def under_short(self) -> str:
        return self.under if len(self.under) <= 20 else f"{self.under[:19].rstrip(' ,')}…"

    @property
    def name_y(self) -> int:
        return self.y + 18

    @property
    def end(self) -> int:
        return self.y + self.height


@dataclass(frozen=True, slots=True)
class DrawnWeek:
    x: int
    words: str


@dataclass(frozen=True)
class CrewDrawing:
    """The drawing in pixels; `axis` has the days."""

    first: date
    weeks: int
    by: str
    axis: DayAxis
    heads: tuple[DrawnWeek, ...]
    rows: tuple[DrawnRow, ...]
    now_x: int | None
    height: int

    @property
    def width(self) -> int:
        return self.axis.end

    @property
    def top(self) -> int:
        return HEAD_PX

    @property
    def earlier(self) -> date:
        return self.first - timedelta(weeks=self.weeks)

    @property
    def later(self) -> date:
        return self.first + timedelta(weeks=self.weeks)


def crew_drawing(
    now: datetime, *, shop: Shop, first: date | None = None, weeks: int = 12, by: str = "people"
) -> CrewDrawing:
    """Lays out the weeks from `first` on by "people" or by "vans"; nine queries."""
    times = opening_times(shop)
    today = times.day_of(now)
    first = monday_of(first or today)
    axis = day_axis(first, weeks, DAY_PX[weeks], times)
    start, end = times.start_of(first), times.start_of(first + timedelta(weeks=weeks))
    builds = list(Build.objects.to_plan().select_related("customer"))
    names = {b.pk: b.name for b in builds}
    work = [
        w
        for w in read_work(agreed_tasks().filter(between(start, end)), reasons=False)
        if w.start and w.finish
    ]
    waits = list(waits_between(start, end, shop))
    if by == "vans":
        rows = list(_by_van(builds, work, waits, axis, times))
    else:
        rows = list(_by_person(people_at_work(times, min(today, first)), work, waits, names, axis, times))
    return CrewDrawing(
        first=first,
        weeks=weeks,
        by=by,
        axis=axis,
        heads=tuple(_heads(first, weeks, axis)),
        rows=tuple(rows),
        now_x=axis.x(now) if start <= now < end else None,
        height=(rows[-1].end if rows else HEAD_PX) + 1,
    )


def _heads(first: date, weeks: int, axis: DayAxis) -> Iterator[DrawnWeek]:
    for n in range(weeks):
        monday = first + timedelta(weeks=n)
        yield DrawnWeek(axis.x_of_day(monday) + 3, f"{calendar_week(monday)}: {monday.day} {monday:%b}")


def _by_person(
    people: Sequence[Somebody], work: Sequence[Work], waits: Iterable[Wait], names, axis: DayAxis, times
) -> Iterator[DrawnRow]:
    y = HEAD_PX
    for person in people:
        mine = [w for w in work if person.pk in w.fitters]
        booked = [d for d in person.fitter.booked or () if d in axis.index]
        if person.is_visitor and not (mine or booked):
            continue
        bars, lanes = _bars(mine, y, axis, times, lambda w: (names.get(w.build, ""), w.group_name), booked)
        height = max(ROW_PX, lanes * LANE_PX + 2 * PAD_PX)
        spans = [("away", instant(a), instant(b)) for a, b in person.fitter.away]
        spans += [("booked", times.start_of(d), times.start_of(d + timedelta(days=1))) for d in booked]
        found = tuple(_span(kind, a, b, y, height, axis) for kind, a, b in spans if axis.meets(a, b))
        under = ", ".join(sorted(person.fitter.trades)) or "helps"
        yield DrawnRow(person.name, under, y, height, bars, found, ())
        y += height
    yield from _foot(y, work, waits, names, axis, times)


def _foot(y: int, work, waits: Iterable[Wait], names, axis: DayAxis, times) -> Iterator[DrawnRow]:
    """What is nobody's own: deliveries, and drying or curing, a lane each."""
    height = LANE_PX + 2 * PAD_PX
    spots = tuple(_delivery_spots(axis, y, names))
    if spots:
        yield DrawnRow("Deliveries", "", y, height, (), (), spots)
        y += height
    lines, lanes = _wait_lines(list(waits), y, axis, names)
    if lines:
        yield DrawnRow("Waits", "drying, curing", y, lanes * 8 + 2 * PAD_PX + 12, (), lines, ())


def _by_van(builds: Sequence[Build], work, waits: Sequence[Wait], axis: DayAxis, times) -> Iterator[DrawnRow]:
    names = {b.pk: b.name for b in builds}
    state = PlanState.objects.filter(pk=1).first()
    deliveries = list(_deliveries(axis))
    y = HEAD_PX
    for build in builds:
        mine = [w for w in work if w.build == build.pk]
        bars, lanes = _bars(mine, y + LANE_PX, axis, times, lambda w: (w.group_name, w.name))
        lines, more = _wait_lines(
            [w for w in waits if w.build == build.pk], y + (lanes + 1) * LANE_PX, axis, names
        )
        height = (lanes + 1) * LANE_PX + 2 * PAD_PX + (more * 8 if lines else 0)
        days = [("delivery", on, what) for what, on, van in deliveries if van == build.pk]
        days += _days_of(build, forecast_of(build, state, times).handover)
        spots = tuple(
            Spot(axis.x_of_day(on) + 1, y + PAD_PX, shape, f"{words}, {day_words(on)}")
            for shape, on, words in days
            if on in axis.index
        )
        yield DrawnRow(build.name, build.customer.name, y, height, bars, lines, spots)
        y += height


def _days_of(build: Build, handover: date | None) -> list[tuple[str, date, str]]:
    days = [("van", build.arrives_on, "comes"), ("told", build.promised_on, "promised")]
    late = bool(handover and build.promised_on and handover > build.promised_on)
    days.append(("late" if late else "good", handover, "handover by the plan"))
    return [(shape, on, words) for shape, on, words in days if on]


def _bars(
    work: Sequence[Work],
    y: int,
    axis: DayAxis,
    times: OpeningTimes,
    names_of: Callable[[Work], tuple[str, str]],
    booked: Sequence[date] = (),
) -> tuple[tuple[Bar, ...], int]:
    """Work in as many lanes as it overlaps in, and how many that is; each run in a lane is named once.

    With `booked` days, work is drawn on those only.
    """
    lanes: list[list[_Placed]] = []
    there = [
        (axis.x(times.start_of(d)), axis.x(times.start_of(d + timedelta(days=1)))) for d in sorted(booked)
    ]
    for row in sorted(work, key=lambda w: (w.start, w.finish, w.pk)):
        x = axis.x(row.start)
        width = max(3, axis.x(row.finish) - x)
        placed = _Placed(row, *names_of(row), x, width, _pieces(x, x + width, there))
        free = next((lane for lane in lanes if lane[-1].end <= x), None)
        if free is None:
            lanes.append([placed])
        else:
            free.append(placed)
    bars = []
    for n, lane in enumerate(lanes):
        for run in _runs(lane):
            label = _label(run)
            for placed in run:
                bars.append(placed.bar(y + PAD_PX + n * LANE_PX, label, times))
                label = ""
    return tuple(bars), max(1, len(lanes))


def _pieces(x: int, end: int, there: Sequence[tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    """What of a stretch lies on the days somebody is there; all of it where that is never or not said."""
    found = [(max(x, a), min(end, b)) for a, b in there if a < end and b > x]
    return tuple((a, max(3, b - a)) for a, b in found) or ((x, end - x),)


@dataclass(frozen=True, slots=True)
class _Placed:
    """A piece of work in its lane: `outer` and `inner` name it, the van and the unit or the unit and task."""

    work: Work
    outer: str
    inner: str
    x: int
    width: int
    pieces: tuple[tuple[int, int], ...]

    @property
    def end(self) -> int:
        return self.x + self.width

    @property
    def fill(self) -> str:
        return FILLS.get(self.work.state, "fill-work-tint")

    def bar(self, y: int, label: str, times: OpeningTimes) -> Bar:
        row = self.work
        named = [self.outer, self.inner, "" if row.name == self.inner else row.name]
        first, last = times.day_of(row.start), times.day_of(row.finish)
        when = day_words(first) if first == last else f"{day_words(first)} to {day_words(last)}"
        title = f"{', '.join(n for n in named if n)}; {when}, {row.state}"
        return Bar(
            self.x, y, self.width, self.fill, label, title, row.build, row.pk, row.is_open_check, self.pieces
        )


def _runs(lane: Sequence[_Placed]) -> Iterator[list[_Placed]]:
    """Neighbours in a lane that share their first name and look."""
    run: list[_Placed] = []
    for placed in lane:
        if (
            run
            and (placed.outer, placed.fill) == (run[-1].outer, run[-1].fill)
            and placed.x - run[-1].end <= 4
        ):
            run.append(placed)
        else:
            if run:
                yield run
            run = [placed]
    if run:
        yield run


def _label(run: Sequence[_Placed]) -> str:
    room = run[-1].end - run[0].x if len(run[0].pieces) == 1 else run[0].pieces[0][1]
    if len({p.inner for p in run}) == 1:
        both = _short(f"{run[0].outer} {run[0].inner}", room)
        if both and not both.endswith("…"):
            return both
    return _short(run[0].outer, room)


def _wait_lines(
    waits: Sequence[Wait], y: int, axis: DayAxis, names: Mapping[int, str]
) -> tuple[tuple[Stretch, ...], int]:
    """The longest wait after each task as a thin line, in lanes of their own."""
    longest: dict[int, Wait] = {}
    for wait in waits:
        if wait.task not in longest or wait.until > longest[wait.task].until:
            longest[wait.task] = wait
    ends: list[int] = []
    lines = []
    for wait in sorted(longest.values(), key=lambda w: (w.since, w.task)):
        if not axis.meets(wait.since, wait.until):
            continue
        x = axis.x(wait.since)
        width = max(2, axis.x(wait.until) - x)
        lane = next((n for n, end in enumerate(ends) if end <= x), len(ends))
        ends[lane : lane + 1] = [x + width]
        words = f"{names.get(wait.build, '')}, {wait.group_name}: after “{wait.name}”"
        lines.append(Stretch(x, width, y + PAD_PX + 4 + lane * 8, 0, "wait", words))
    return tuple(lines), max(1, len(ends))


def _span(kind: str, start: datetime, end: datetime, y: int, height: int, axis: DayAxis) -> Stretch:
    x = axis.x(start)
    return Stretch(x, max(2, axis.x(end) - x), y, height, kind, kind)


def _deliveries(axis: DayAxis) -> Iterator[tuple[str, date, int | None]]:
    rows = Delivery.objects.filter(arrived_on=None, on_shelf_on=None)
    yield from rows.filter(expected_on__range=(axis.days[0], axis.days[-1])).values_list(
        "what", "expected_on", "build_id"
    )


def _delivery_spots(axis: DayAxis, y: int, names: Mapping[int, str]) -> Iterator[Spot]:
    """One mark a day, whatever comes on it."""
    comes: dict[date, list[str]] = defaultdict(list)
    for what, on, build in _deliveries(axis):
        if on in axis.index and (build is None or build in names):
            comes[on].append(f"{names.get(build, 'the shop')}: {what}")
    for on, words in comes.items():
        more = f" and {len(words) - 3} more" if len(words) > 3 else ""
        title = f"{'; '.join(words[:3])}{more}, {day_words(on)}"
        yield Spot(axis.x_of_day(on) + 1, y + PAD_PX, "delivery", title)


def _short(words: str, width: int) -> str:
    room = int((width - 4) / CHARACTER_PX)
    if room < 3:
        return ""
    return words if len(words) <= room else f"{words[: room - 1].rstrip()}…"
