"""A problem made ready to decode many times: tasks, people and places by number, times by slot."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import timedelta

from .axis import Axis, lay_axis, slots_in
from .calendar import MINUTES_A_DAY, midnight, monday_of, week_bounds
from .impossible import crews_for, impossible, shared_day_minutes
from .plan import Unplanned
from .problem import Fitter, Problem, Task

LONGEST_YEARS = 12
"""Past this nothing is planned: it is years more than any shop's work."""


@dataclass(slots=True)
class Crew:
    """People who may do a task together, lead first, and the slots that they share."""

    people: tuple[int, ...]
    mask: int
    slots: list[int]


@dataclass(slots=True)
class Hands:
    """Who may do one kind of work: `pool` everyone, `crews` the sets of people that may, by bits."""

    size: int
    pool: list[Crew]
    crews: dict[int, tuple[int, ...]]


@dataclass(slots=True)
class Job:
    """One task by numbers. Times are slots; `after` is (job, wait minutes); -1 means none.

    `room` is the counted place, which is full for this job where more than `level` of it is taken;
    `amount` is what the job takes. `early` is the first slot by dates alone.
    """

    number: int
    id: str
    van: int
    slots: int
    early: int
    hands: Hands | None
    room: int = -1
    level: int = 0
    amount: int = 1
    position: int = -1
    needs_van: bool = False
    claims: bool = False
    bay: bool = False
    same_day: bool = False
    dries: int = 0
    rack: int = 0
    still: int = 0
    after: tuple[tuple[int, int], ...] = ()
    followers: tuple[int, ...] = ()
    extras: bool = False


@dataclass(slots=True)
class Prepared:
    """Everything one decoding needs and none changes."""

    problem: Problem
    axis: Axis
    jobs: list[Job]
    numbers: dict[str, int]
    van_numbers: dict[str, int]
    fitter_numbers: dict[str, int]
    unplanned: dict[str, Unplanned]
    rooms: list[int]
    positions: int
    windows: list[list[tuple[int, int]]]
    shop_before: list[int]
    day_starts: list[int]
    move_slots: int
    due: list[int | None]
    weights: list[int]
    pressure: list[float]
    at_the_end: bool
    crew_cache: dict[tuple[int, ...], Crew] = field(default_factory=dict)

    def crew(self, people: tuple[int, ...]) -> Crew:
        """The crew of these people (lead first), with their shared slots worked out once."""
        found = self.crew_cache.get(people)
        if found is None:
            mask = self.axis.fitters[people[0]]
            for k in people[1:]:
                mask &= self.axis.fitters[k]
            found = Crew(people, mask, slots_in(mask, len(self.axis.at)))
            self.crew_cache[people] = found
        return found

    def after_move(self, slot: int) -> int:
        """The first slot by which a van that stood until `slot` is moved, in the shop's opening time."""
        before = self.shop_before
        return bisect_left(before, before[min(slot, len(before) - 1)] + self.move_slots, lo=slot)

    def before_move(self, slot: int) -> int:
        """The last slot until which a van may stand elsewhere that has to be moved by `slot`."""
        before = self.shop_before
        wanted = before[min(slot, len(before) - 1)] - self.move_slots
        return bisect_right(before, wanted, hi=slot + 1) - 1 if wanted >= 0 else 0

    def stored_crew(self, names: Sequence[str], task: Task) -> tuple[int, ...] | None:
        """The stored crew by numbers, lead first, or None when it can't do the task any more."""
        people = [self.fitter_numbers[n] for n in names if n in self.fitter_numbers]
        if len(people) != task.crew or len(set(people)) != len(names):
            return None
        fitters = self.problem.fitters
        if not all(fitters[k].helps or task.trade in fitters[k].trades for k in people):
            return None
        lead = next((k for k in people if task.trade in fitters[k].trades), None)
        if lead is None:
            return None
        crew = (lead, *(k for k in people if k != lead))
        return crew if self.crew(crew).slots else None


def prepare(problem: Problem, until: int | None = None) -> Prepared:
    """Make a problem ready to decode up to instant `until` (an estimate where it is not given)."""
    unplanned = impossible(problem)
    latest = problem.now + LONGEST_YEARS * 365 * MINUTES_A_DAY
    until = min(until or _horizon(problem), latest)
    axis = lay_axis(problem.opening, problem.fitters, problem.now, until)
    van_numbers = {v.id: k for k, v in enumerate(problem.vans)}
    rooms = _Rooms(problem)
    zone = problem.opening.zone
    positions = sorted({p.position for p in problem.places.values() if p.position is not None})
    prepared = Prepared(
        problem=problem,
        axis=axis,
        jobs=[],
        numbers={t.id: k for k, t in enumerate(problem.tasks)},
        van_numbers=van_numbers,
        fitter_numbers={f.id: k for k, f in enumerate(problem.fitters)},
        unplanned=unplanned,
        rooms=rooms.sizes,
        positions=len(positions),
        windows=[_windows(axis, v.here) for v in problem.vans],
        shop_before=_count_before(axis),
        day_starts=_day_starts(axis),
        move_slots=-(-problem.move_minutes // axis.step),
        due=[
            axis.slot(midnight(v.promised + timedelta(days=1), zone)) if v.promised else None
            for v in problem.vans
        ],
        weights=[v.weight for v in problem.vans],
        pressure=_pressure(problem),
        at_the_end=until >= latest,
    )
    _add_jobs(prepared, rooms, {name: k for k, name in enumerate(positions)})
    return prepared


def longer(prepared: Prepared) -> Prepared:
    """The same problem on an axis three times as long."""
    now, end = prepared.problem.now, prepared.axis.at[-1] if prepared.axis.at else prepared.problem.now
    return prepare(prepared.problem, now + 3 * max(end - now, 90 * MINUTES_A_DAY))


def minutes_left(task: Task) -> int:
    """Working minutes still to do."""
    return task.left if task.left is not None else task.minutes


class _Rooms:
    """Numbers for every counted place: one for the shop, or one for each van."""

    def __init__(self, problem: Problem) -> None:
        self.sizes: list[int] = []
        self._numbers: dict[tuple[str, str | None], int] = {}
        self._places = problem.places

    def number(self, place: str, van: str) -> int:
        spec = self._places.get(place)
        if spec is None or spec.room is None:
            return -1
        key = (place, van if spec.per_van else None)
        if key not in self._numbers:
            self._numbers[key] = len(self.sizes)
            self.sizes.append(spec.room)
        return self._numbers[key]


def _add_jobs(prepared: Prepared, rooms: _Rooms, positions: Mapping[str, int]) -> None:
    problem, axis = prepared.problem, prepared.axis
    hands = _HandsByKind(prepared)
    followers: list[list[int]] = [[] for _ in problem.tasks]
    for number, task in enumerate(problem.tasks):
        place = problem.places.get(task.place)
        amount = task.crew if place and place.counts == "people" else 1
        room = rooms.number(task.place, task.van)
        after = tuple((prepared.numbers[k.task], k.wait) for k in task.after if k.task in prepared.numbers)
        for p, _ in after:
            followers[p].append(number)
        slots = max(1, -(-minutes_left(task) // axis.step))
        planned = task.state != "done" and task.id not in prepared.unplanned
        job = Job(
            number=number,
            id=task.id,
            van=prepared.van_numbers.get(task.van, -1),
            slots=slots,
            early=_early(problem, axis, task),
            hands=hands.of(task, slots) if planned else None,
            room=room,
            level=rooms.sizes[room] - amount if room >= 0 else 0,
            amount=amount,
            position=positions[place.position] if place and place.position is not None else -1,
            needs_van=task.needs_van,
            claims=task.claims_van,
            bay=bool(
                place and place.holds_bay and problem.bays is not None and task.van in prepared.van_numbers
            ),
            same_day=task.same_day,
            dries=task.dries_here if room >= 0 else 0,
            rack=task.rack if problem.rack_room is not None else 0,
            still=task.still,
            after=after,
        )
        if job.rack:
            job.dries = task.dries_here
        job.extras = bool(job.dries or job.rack or (job.still and job.position >= 0))
        prepared.jobs.append(job)
    for job, behind in zip(prepared.jobs, followers, strict=True):
        job.followers = tuple(behind)


class _HandsByKind:
    """Who may do each kind of work, found once a kind."""

    def __init__(self, prepared: Prepared) -> None:
        self._prepared = prepared
        self._found: dict[tuple[str, int, int], Hands] = {}

    def of(self, task: Task, slots: int) -> Hands:
        kind = (task.trade, task.crew, slots if task.same_day else 0)
        if kind not in self._found:
            self._found[kind] = self._find(*kind)
        return self._found[kind]

    def _find(self, trade: str, size: int, day_slots: int) -> Hands:
        prepared = self._prepared
        fitters, opening = prepared.problem.fitters, prepared.problem.opening
        need = day_slots * prepared.axis.step
        crews: dict[int, tuple[int, ...]] = {}
        for crew in crews_for(fitters, trade, size):
            if shared_day_minutes(opening, [fitters[k] for k in crew]) >= max(need, 1):
                crews[sum(1 << k for k in crew)] = crew
        people = sorted({k for crew in crews.values() for k in crew}, key=lambda k: (prepared.pressure[k], k))
        return Hands(size, [prepared.crew((k,)) for k in people], crews)


def _early(problem: Problem, axis: Axis, task: Task) -> int:
    """The first slot that the task's own dates allow: pin, told week, delivery, decision."""
    zone = problem.opening.zone
    bounds = [problem.now, problem.holds.get(task.id, problem.now), *(n.at for n in task.not_before)]
    if task.pin_week:
        bounds.append(week_bounds(monday_of(task.pin_week), zone)[0])
    if task.told_week:
        begins, ends = week_bounds(monday_of(task.told_week), zone)
        if ends > problem.now:
            bounds.append(begins)
    return axis.slot(max(bounds))


def _windows(axis: Axis, here: tuple[tuple[int, int | None], ...]) -> list[tuple[int, int]]:
    """A van's stays as slots (from, to); one that never ends runs to the end of the axis."""
    end = len(axis.at)
    stays = [(axis.slot(a), end if b is None else axis.slot(b)) for a, b in here]
    return [(a, b) for a, b in stays if a < b or b == end]


def _count_before(axis: Axis) -> list[int]:
    """How many shop slots come before each slot; one longer than the axis."""
    counts = [0] * (len(axis.at) + 1)
    total, last = 0, 0
    for s in slots_in(axis.shop, len(axis.at)):
        counts[last : s + 1] = [total] * (s + 1 - last)
        total, last = total + 1, s + 1
    counts[last:] = [total] * (len(counts) - last)
    return counts


def _day_starts(axis: Axis) -> list[int]:
    """The first slot of the day after each slot's own (the length of the axis on the last day)."""
    following = [len(axis.at)] * len(axis.at)
    for s in range(len(axis.at) - 2, -1, -1):
        following[s] = following[s + 1] if axis.day[s] == axis.day[s + 1] else s + 1
    return following


def _pressure(problem: Problem) -> list[float]:
    """How much each fitter's trades are wanted: the work of a trade shared among those who may lead it."""
    wanted: dict[str, int] = {}
    for task in problem.tasks:
        if task.state != "done":
            wanted[task.trade] = wanted.get(task.trade, 0) + minutes_left(task)
    leads = {t: sum(t in f.trades for f in problem.fitters) for t in wanted}
    return [sum(wanted[t] / leads[t] for t in sorted(f.trades) if t in wanted) for f in problem.fitters]


def _horizon(problem: Problem) -> int:
    """How far to look at first: the last date given or all the work at full strength, and 100 days."""
    dates = [problem.now]
    for van in problem.vans:
        dates += [t for stay in van.here for t in stay if t is not None]
        if van.promised:
            dates.append(midnight(van.promised, problem.opening.zone))
    for task in problem.tasks:
        dates += [n.at for n in task.not_before]
        if task.pin_week:
            dates.append(midnight(task.pin_week, problem.opening.zone))
    work = sum(minutes_left(t) * t.crew for t in problem.tasks if t.state != "done")
    weekly = sum(b - a for spans in problem.opening.week.values() for a, b in spans)
    staff = sum(_is_staff(f) for f in problem.fitters) or 1
    weeks = 1.2 * work / max(1, weekly * staff)
    return max(*dates, problem.now + int(weeks * 7 * MINUTES_A_DAY)) + 100 * MINUTES_A_DAY


def _is_staff(fitter: Fitter) -> bool:
    return fitter.helps and fitter.booked is None
