"""What can't be planned whatever the order, and why: found once, before anything is placed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import combinations

from .plan import Unplanned
from .problem import Fitter, Opening, Problem, Spans, Task

MOST_CREWS = 3000
"""Crews tried for one kind of work; a shop of ten has 45 pairs and 120 threes."""


def impossible(problem: Problem) -> dict[str, Unplanned]:
    """Every task of `problem` that no order can place, by id, followers included.

    Tasks done are never in it. A follower names the task it waits for.
    """
    known = {t.id: t for t in problem.tasks}
    found: dict[str, Unplanned] = {}
    tried: dict[tuple[str, int, int], str | None] = {}
    for task in problem.tasks:
        if task.state == "done":
            continue
        if why := _own_reason(problem, task, tried):
            found[task.id] = Unplanned(task.id, why)
    for task_id in loops(problem.tasks):
        found.setdefault(task_id, Unplanned(task_id, "loop"))
    _followers(problem.tasks, known, found)
    return found


def loops(tasks: Sequence[Task]) -> set[str]:
    """The tasks that stand on a loop of links (done work breaks a loop)."""
    after = {
        t.id: [k.task for k in t.after if k.task != t.id or t.state != "done"]
        for t in tasks
        if t.state != "done"
    }
    left = {i: {p for p in ps if p in after} for i, ps in after.items()}
    _peel(left)
    behind: dict[str, set[str]] = {i: set() for i in left}
    for i, ps in left.items():
        for p in ps:
            behind[p].add(i)
    _peel(behind)
    return set(behind)


def crews_for(fitters: Sequence[Fitter], trade: str, size: int) -> Iterator[tuple[int, ...]]:
    """Crews of `size` by fitter number, lead first: each set of people once."""
    seen: set[frozenset[int]] = set()
    leads = [k for k, f in enumerate(fitters) if trade in f.trades]
    pool = [k for k, f in enumerate(fitters) if f.helps or trade in f.trades]
    tried = 0
    for lead in leads:
        for helpers in combinations([k for k in pool if k != lead], size - 1):
            people = frozenset((lead, *helpers))
            if people not in seen:
                seen.add(people)
                yield (lead, *helpers)
                tried += 1
                if tried >= MOST_CREWS:
                    return


def shared_day_minutes(opening: Opening, people: Sequence[Fitter]) -> int:
    """The most working minutes that these people share on any weekday, absences left aside."""
    longest = 0
    for weekday in range(7):
        spans: Spans = ((0, 1440),)
        for fitter in people:
            spans = _meet(spans, _usual(opening, fitter, weekday))
        step = opening.slot_minutes
        longest = max(longest, sum((b - a) // step * step for a, b in spans))
    return longest


def _own_reason(problem: Problem, task: Task, tried: dict[tuple[str, int, int], str | None]) -> str | None:
    if task.waits_for_word is not None:
        return "word"
    if task.needs_van and not any(v.id == task.van and v.here for v in problem.vans):
        return "no van"
    if task.state == "under way" and task.fitters:
        return None
    place = problem.places.get(task.place)
    wanted = task.crew if place and place.counts == "people" else 1
    if place and place.room is not None and wanted > place.room:
        return "no room"
    if place and place.holds_bay and problem.bays == 0:
        return "no room"
    if task.rack and problem.rack_room == 0:
        return "no room"
    kind = (task.trade, task.crew, task.minutes if task.same_day else 0)
    if kind not in tried:
        tried[kind] = _crew_reason(problem, task)
    return tried[kind]


def _crew_reason(problem: Problem, task: Task) -> str | None:
    if not any(task.trade in f.trades for f in problem.fitters):
        return "no trade"
    most = 0
    some = False
    for crew in crews_for(problem.fitters, task.trade, task.crew):
        some = True
        most = max(most, shared_day_minutes(problem.opening, [problem.fitters[k] for k in crew]))
        if most and (not task.same_day or most >= task.minutes):
            return None
    if not some:
        return "crew too small"
    return "too long for a day" if most else "no time"


def _usual(opening: Opening, fitter: Fitter, weekday: int) -> Spans:
    """What a fitter works on a weekday; a visitor's booked dates count beside the usual days."""
    booked = {d.weekday() for d in fitter.booked} if fitter.booked else set()
    if fitter.days is not None and weekday not in fitter.days and weekday not in booked:
        return ()
    if fitter.hours and weekday in fitter.hours:
        return fitter.hours[weekday]
    return opening.week.get(weekday, ())


def _meet(ours: Spans, theirs: Spans) -> Spans:
    return tuple((max(a, c), min(b, d)) for a, b in ours for c, d in theirs if max(a, c) < min(b, d))


def _peel(after: dict[str, set[str]]) -> None:
    """Take away, again and again, whatever waits for nothing; what stays stands on or behind a loop."""
    followers = defaultdict(list)
    for i, ps in after.items():
        for p in ps:
            followers[p].append(i)
    free = [i for i, ps in after.items() if not ps]
    while free:
        i = free.pop()
        del after[i]
        for f in followers[i]:
            after[f].discard(i)
            if not after[f]:
                free.append(f)


def _followers(tasks: Sequence[Task], known: dict[str, Task], found: dict[str, Unplanned]) -> None:
    followers = defaultdict(list)
    for task in tasks:
        if task.state in ("done", "under way"):
            continue
        for link in task.after:
            if link.task in known:
                followers[link.task].append(task.id)
            elif task.id not in found:
                found[task.id] = Unplanned(task.id, "follows", link.task)
    spread = list(found)
    while spread:
        i = spread.pop()
        for follower in followers[i]:
            if follower not in found:
                found[follower] = Unplanned(follower, "follows", i)
                spread.append(follower)
