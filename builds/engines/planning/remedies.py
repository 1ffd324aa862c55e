"""What would bring a late van back: single changes to the shop, each tried by planning again with it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from .calendar import MINUTES_A_DAY, day_at, midnight, minutes_a_day, monday_of, open_minutes, week_bounds
from .plan import Plan
from .planner import decode_stored, plan_of
from .prepare import prepare
from .problem import Fitter, Link, Place, Problem, Task
from .rules import lifted

EXTRA = "extra pair of hands"
OUT = "given out"
"""Names of the person and of the place that stand for help from outside; no shop has them."""


@dataclass(frozen=True, slots=True)
class Remedy:
    """One change that might help. Kinds and what goes with them:

    "hands": one more person who leads `trade`, in the week of Monday `week`. "date": what task `task`
    waits for (`ref` of kind `what`: delivery, decision, agreed) is settled by the end of `day`. "first": the
    van's work at `place` comes before other vans'. "pin": the pin of `task` is lifted. "visit": `fitter`
    comes on `day` too. "out": `task` is done elsewhere by others. "after": `task` is done after handover.
    """

    kind: str
    task: str | None = None
    trade: str | None = None
    week: date | None = None
    day: date | None = None
    place: str | None = None
    fitter: str | None = None
    ref: str | None = None
    what: str | None = None


@dataclass(frozen=True, slots=True)
class Tried:
    """What a remedy does: opening days the van gains, and what handovers move.

    `handovers` are (before, after) instants by van, of all that move. `others` are opening days later
    (negative: sooner) by other van; `costs` are the weighted days later after their promises, of the
    other vans that come later by it.
    """

    remedy: Remedy
    days_gained: float
    handovers: dict[str, tuple[int | None, int | None]]
    others: dict[str, float]
    costs: float


def try_remedies(
    problem: Problem,
    plan: Plan,
    van: str,
    remedies: Sequence[Remedy],
    *,
    least_days: float = 0.5,
    should_stop: Callable[[], bool] | None = None,
) -> tuple[Tried, ...]:
    """Plan again with each remedy and tell those that bring the van `least_days` or more, the best first.

    `plan` is the current plan of `problem`; its order is kept and crews are chosen anew, but for those
    that are stored. A remedy that leaves more work unplanned is not told. Best is what is gained less
    what it costs the others.
    """
    was = plan_of(decode_stored(prepare(problem), plan.order, problem.crews))
    told = []
    for remedy in remedies:
        if should_stop is not None and should_stop():
            break
        found = _tried(problem, was, van, remedy)
        if found is not None and found.days_gained >= least_days:
            told.append(found)
    told.sort(key=lambda t: t.costs - t.days_gained)
    return tuple(told)


def plan_with(problem: Problem, order: Sequence[str], van: str, remedy: Remedy) -> Plan:
    """The plan with a remedy, made in the order at hand."""
    prepared = prepare(with_remedy(problem, remedy))
    if remedy.kind == "first":
        here = [prepared.numbers[i] for i in order if i in prepared.numbers]
        tasks = problem.tasks
        mine = [n for n in here if tasks[n].van == van and tasks[n].place == remedy.place]
        order = [prepared.jobs[n].id for n in lifted(prepared, here, mine)]
    return plan_of(decode_stored(prepared, order, prepared.problem.crews))


def with_remedy(problem: Problem, remedy: Remedy) -> Problem:
    """The shop with a remedy; "first" changes the order alone, not the shop."""
    kind = remedy.kind
    if kind == "hands":
        return _with_hands(problem, remedy)
    if kind == "visit":
        return _with_visit(problem, remedy)
    if kind == "out":
        places = {**problem.places, OUT: Place(OUT)}
        crew = Fitter(f"{OUT}:{remedy.task}", frozenset({OUT}), helps=False)
        return replace(
            _with_task(problem, remedy.task, _given_out), places=places, fitters=(*problem.fitters, crew)
        )
    if kind == "after":
        return _without_task(problem, remedy.task)
    if kind == "date":
        return _with_date(problem, remedy)
    if kind == "pin":
        return _with_task(problem, remedy.task, lambda t: replace(t, pin_week=None))
    return problem


def _tried(problem: Problem, was: Plan, van: str, remedy: Remedy) -> Tried | None:
    now = plan_with(problem, was.order, van, remedy)
    if len(now.unplanned) > len(was.unplanned):
        return None
    before, after = was.handovers.get(van), now.handovers.get(van)
    if before is None or after is None:
        return None
    moved = {v: (at, now.handovers.get(v)) for v, at in was.handovers.items() if at != now.handovers.get(v)}
    others = {v: -_days_sooner(problem, a, b) for v, (a, b) in moved.items() if v != van and a and b}
    return Tried(
        remedy=remedy,
        days_gained=_days_sooner(problem, before, after),
        handovers=moved,
        others=others,
        costs=sum(_cost(problem, v, moved[v]) for v in others),
    )


def _days_sooner(problem: Problem, before: int, after: int) -> float:
    """Opening days from `after` to `before`; negative when it is later now."""
    a_day = minutes_a_day(problem.opening) or 1.0
    sooner = open_minutes(problem.opening, after, before)
    return (sooner - open_minutes(problem.opening, before, after)) / a_day


def _cost(problem: Problem, van: str, moved: tuple[int | None, int | None]) -> float:
    """Weighted opening days that a van comes later after its promise."""
    one = next(v for v in problem.vans if v.id == van)
    before, after = moved
    if one.promised is None or before is None or after is None:
        return 0.0
    due = midnight(one.promised + timedelta(days=1), problem.opening.zone)
    return one.weight * max(0.0, -_days_sooner(problem, max(before, due), max(after, due)))


def _with_hands(problem: Problem, remedy: Remedy) -> Problem:
    assert remedy.week is not None
    assert remedy.trade is not None
    since, until = week_bounds(monday_of(remedy.week), problem.opening.zone)
    far = until + 100 * 365 * MINUTES_A_DAY
    extra = Fitter(EXTRA, frozenset({remedy.trade}), away=((min(0, problem.now), since), (until, far)))
    return replace(problem, fitters=(*problem.fitters, extra))


def _with_visit(problem: Problem, remedy: Remedy) -> Problem:
    """A visitor comes on one more day: booked, or a week's weekday that turns into a booked day."""
    day = remedy.day
    assert day is not None

    def more(fitter: Fitter) -> Fitter:
        if fitter.id != remedy.fitter:
            return fitter
        return replace(fitter, booked=_booked(problem, fitter, day))

    return replace(problem, fitters=tuple(more(f) for f in problem.fitters))


def _booked(problem: Problem, fitter: Fitter, day: date) -> frozenset[date]:
    """The days a visitor comes up to `day`, and that day; later ones stay as they are."""
    known = fitter.booked or frozenset()
    if known and day <= max(known):
        return known | {day}
    first = day_at(problem.now, problem.opening.zone)
    since = max([first, *(d + timedelta(days=1) for d in known)])
    usual = (since + timedelta(days=k) for k in range((day - since).days))
    return known | {d for d in usual if fitter.days is None or d.weekday() in fitter.days} | {day}


def _with_date(problem: Problem, remedy: Remedy) -> Problem:
    """A date from outside settled by the end of `day`, for every task that waits for the same thing."""
    assert remedy.day is not None
    by = midnight(remedy.day + timedelta(days=1), problem.opening.zone)

    def settled(task: Task) -> Task:
        bounds = tuple(
            replace(n, at=min(n.at, by)) if (n.kind, n.ref) == (remedy.what, remedy.ref) else n
            for n in task.not_before
        )
        return replace(task, not_before=bounds)

    return replace(problem, tasks=tuple(settled(t) for t in problem.tasks))


def _with_task(problem: Problem, task: str | None, change: Callable[[Task], Task]) -> Problem:
    return replace(problem, tasks=tuple(change(t) if t.id == task else t for t in problem.tasks))


def _given_out(task: Task) -> Task:
    return replace(task, trade=OUT, crew=1, place=OUT, needs_van=False, fitters=())


def _without_task(problem: Problem, task: str | None) -> Problem:
    """The shop with one task left out; what followed it follows what it followed, waits added up."""
    gone = next(t for t in problem.tasks if t.id == task)

    def mended(one: Task) -> Task:
        links = []
        for link in one.after:
            if link.task != task:
                links.append(link)
            else:
                links += [Link(k.task, k.wait + link.wait) for k in gone.after]
        return replace(one, after=tuple(links))

    tasks = tuple(mended(t) for t in problem.tasks if t.id != task)
    return replace(problem, tasks=tasks)
