"""Moving work to another week: what a move would do, keeping it, putting it back.

A move sets pins; nothing else says which week a task is in. Only what is physically impossible is
refused, with the reason and the first week that can. Too many hours are shown, and kept.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from django.db.models import F

from builds.actions.door import Gone, Refused, Stale, note_in_journal, write
from builds.engines.planning.plan import Unplanned
from builds.engines.planning.planner import plan_shop
from builds.engines.planning.prepare import prepare
from builds.engines.planning.problem import Problem
from builds.engines.planning.weeks import FirstWeek, first_week_that_can
from builds.models import Pin, Task, User
from builds.queries.move_words import Move, lines_of_move, tasks_words
from builds.queries.opening import OpeningTimes, instant, monday_of, opening_times
from builds.queries.planned_work import mark_of
from builds.queries.problem import shop_problem
from builds.templatetags.words import day as day_words
from builds.templatetags.words import week_of

FARTHEST = timedelta(weeks=104)
WEEK = timedelta(days=7)
NO_SUCH_WORK = "There is no such work."
CHANGED = "This work was moved or changed meanwhile."


@dataclass(frozen=True)
class Chosen:
    """Work to move: its tasks, the week each is in now, and a mark that changes when any of them does.

    `weeks` lacks the tasks that are in no week yet; they go where the first of the others goes.
    """

    key: str
    name: str
    tasks: tuple[Task, ...]
    weeks: Mapping[int, date]
    mark: str

    @property
    def van(self) -> str:
        return self.tasks[0].build.name

    @property
    def first_week(self) -> date | None:
        return min(self.weeks.values(), default=None)

    def targets(self, monday: date) -> dict[int, date]:
        """Where each task goes when the first of them goes to the week of `monday`; the others keep step."""
        first = self.first_week or monday
        return {t.pk: monday + (self.weeks.get(t.pk, first) - first) for t in self.tasks}


class Impossible(Refused):
    """A move that can't be, with the first week that can (None: no week can)."""

    def __init__(self, words: str, first_week: date | None) -> None:
        super().__init__(words, field="week")
        self.first_week = first_week


@dataclass(frozen=True)
class Preview:
    """What a move does, line by line, before it is kept."""

    chosen: Chosen
    monday: date
    lines: tuple[str, ...]
    targets: Mapping[int, date]


def chosen_work(key: str, times: OpeningTimes) -> Chosen:
    """Finds the work that `key` names: "12" is a task, "unit-3" a whole unit (also "installation-",
    "van-"), "unit-3:2027-03-08" what of it starts in that week. Work done or under way stays.

    Raises `Gone` where nothing of it can be moved.
    """
    what, _, week = key.partition(":")
    rows = [t for t in _rows(what) if t.state in ("to do", "stopped")]
    weeks = {t.pk: monday for t in rows if (monday := _week_now(t, times))}
    if week:
        monday = _monday(week)
        rows = [t for t in rows if weeks.get(t.pk) == monday]
    if not rows:
        raise Gone("There is no work there any more that could be moved. Load the page again.")
    name = rows[0].name if what.isdecimal() else f"{rows[0].group_name}, {tasks_words(len(rows))}"
    kept = {t.pk: weeks[t.pk] for t in rows if t.pk in weeks}
    return Chosen(key, name, tuple(rows), kept, mark_of(rows))


def preview_move(*, key: str, monday: date, now: datetime, mark: str = "") -> Preview:
    """Tells what moving the work to the week of `monday` would do; changes nothing.

    `mark` is that of the sheet the work was taken from. Raises `Stale` when the work changed since,
    `Impossible` with the reason and the first week that can.
    """
    times = opening_times()
    chosen = chosen_work(key, times)
    if mark and mark != chosen.mark:
        raise Stale(f"{CHANGED} Look at the sheet as it is now.")
    _check_week(monday, times, now)
    problem = shop_problem(now)
    before = plan_shop(problem)
    targets = chosen.targets(monday)
    moved = _pinned(problem, targets)
    _refuse_impossible(chosen, targets, moved, times)
    move = Move(problem, before, plan_shop(moved), targets)
    return Preview(chosen, monday, lines_of_move(move, times=times, now=now), targets)


def keep_move(*, key: str, monday: date, mark: str, now: datetime, by: User | None) -> dict[int, date | None]:
    """Pins the work to its new weeks; gives the pins there were before, to put it back by.

    Raises `Stale` when any of the work changed since it was shown, `Impossible` as the preview does.
    """
    times = opening_times()
    _check_week(monday, times, now)
    with write():
        chosen = chosen_work(key, times)
        if chosen.mark != mark:
            raise Stale(f"{CHANGED} Look at it as it is now.")
        targets = chosen.targets(monday)
        _refuse_impossible(chosen, targets, _pinned(shop_problem(now), targets), times)
        before = dict(Pin.objects.filter(task__in=targets).values_list("task_id", "monday"))
        _set_pins(targets, now, by)
        words = f"Moved {chosen.name} to the week of {week_of(monday)}"
        note_in_journal(words, now=now, by=by, build=chosen.tasks[0].build)
        return {pk: before.get(pk) for pk in targets}


def put_back(*, pins: Mapping[int, date | None], mark: str, now: datetime, by: User | None) -> None:
    """Sets the pins of some tasks to what they were; raises `Stale` when the work changed since."""
    if any(monday.weekday() for monday in pins.values() if monday):
        raise Refused("That can’t be put back any more. Move it by hand.")
    with write():
        tasks = list(Task.objects.kept().select_related("build").filter(pk__in=pins))
        if not tasks or len(tasks) != len(pins):
            raise Gone("Some of that work is not there any more.")
        if mark_of(tasks) != mark:
            raise Stale("This work was changed again meanwhile, so it is not put back.")
        Pin.objects.filter(task__in=[pk for pk, monday in pins.items() if monday is None]).delete()
        _set_pins({pk: monday for pk, monday in pins.items() if monday}, now, by)
        _touch([pk for pk, monday in pins.items() if monday is None])
        note_in_journal(f"Put {tasks_words(len(tasks))} back", now=now, by=by, build=tasks[0].build)


def lift_pins(*, key: str, now: datetime, by: User | None) -> int:
    """Takes the pins off some work, so that the plan finds its week; gives how many there were."""
    with write():
        chosen = chosen_work(key, opening_times())
        pins = Pin.objects.filter(task__in=chosen.tasks)
        count = pins.count()
        pins.delete()
        _touch([t.pk for t in chosen.tasks])
        if count:
            note_in_journal(f"Lifted the pin of {chosen.name}", now=now, by=by, build=chosen.tasks[0].build)
        return count


def mark_of_pins(pins: Iterable[int]) -> str:
    """The mark of these tasks as they are now, for `put_back`."""
    return mark_of(Task.objects.filter(pk__in=list(pins)))


def _rows(what: str) -> list[Task]:
    kind, _, pk = what.rpartition("-")
    if not pk.isdecimal() or len(pk) > 9:
        raise Gone(NO_SUCH_WORK)
    found = Task.objects.unfinished().filter(build__status="agreed")
    if what.isdecimal():
        found = found.filter(pk=int(pk))
    elif kind == "van":
        found = found.filter(build=int(pk), unit=None, installation=None)
    elif kind in ("unit", "installation"):
        found = found.filter(**{kind: int(pk)})
    else:
        raise Gone(NO_SUCH_WORK)
    return list(found.select_related("build", "unit", "installation", "planned", "pin").order_by("order"))


def _week_now(task: Task, times: OpeningTimes) -> date | None:
    """The week it starts in by the plan, else the one it is pinned to."""
    row = getattr(task, "planned", None)
    if row is not None:
        return monday_of(times.day_of(row.start))
    pin = getattr(task, "pin", None)
    return pin.monday if pin else None


def _monday(text: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise Refused("That is no week. Choose one from the list.", field="week") from None
    return monday_of(day)


def _check_week(monday: date, times: OpeningTimes, now: datetime) -> None:
    today = times.day_of(now)
    if monday.weekday() != 0:
        raise Refused("That is no week. Choose one from the list.", field="week")
    if monday < monday_of(today):
        raise Refused("That week is over. Choose this week or a later one.", field="week")
    if monday - today > FARTHEST:
        raise Refused("That is more than two years ahead. Look at the year.", field="week")
    if not times.open_days(monday):
        raise Refused("The shop is closed all that week. Choose another.", field="week")


def _pinned(problem: Problem, targets: Mapping[int, date]) -> Problem:
    """The shop with the new pins; what was told of the moved work gives way to the owner's word."""
    wanted = {str(pk): monday for pk, monday in targets.items()}
    return replace(
        problem,
        tasks=tuple(
            replace(t, pin_week=wanted[t.id], told_week=None) if t.id in wanted else t for t in problem.tasks
        ),
    )


def _refuse_impossible(
    chosen: Chosen, targets: Mapping[int, date], problem: Problem, times: OpeningTimes
) -> None:
    prepared = prepare(problem)
    worst: tuple[Task, FirstWeek, int] | None = None
    for task in chosen.tasks:
        if str(task.pk) not in prepared.numbers:
            continue
        first = first_week_that_can(problem, str(task.pk), prepared)
        if first.monday is None:
            raise Impossible(_never(task, first), None)
        late = (first.monday - targets[task.pk]).days
        if late > 0 and (worst is None or late > worst[2]):
            worst = (task, first, late)
    if worst is None:
        return
    task, first, late = worst
    can = min(targets.values()) + timedelta(days=late)
    while not times.open_days(can) and can - min(targets.values()) < FARTHEST:
        can += WEEK
    words = f"Not that week: “{task.name}” {_why(first, times)}. The first week that can is {week_of(can)}."
    raise Impossible(words, can)


def _never(task: Task, first: FirstWeek) -> str:
    why: Unplanned | None = first.impossible
    if why is not None and why.code == "no van":
        return f"“{task.name}” needs the van, and no day is set for it to come."
    return f"“{task.name}” can’t be planned in any week as things are."


def _why(first: FirstWeek, times: OpeningTimes) -> str:
    reason = first.reason
    at = day_words(times.day_of(instant(first.at))) if first.at is not None else ""
    if reason is None:
        return f"can’t start before {at}"
    if reason.code in ("after", "wait") and reason.ref:
        name = Task.objects.filter(pk=int(reason.ref)).values_list("name", flat=True).first()
        more = " and its wait" if reason.code == "wait" else ""
        return f"comes after “{name}”{more}, which is over on {at} at the earliest"
    if reason.code == "arrival":
        return f"needs the van, which comes on {at}"
    if reason.code in ("delivery", "decision", "agreed"):
        return f"waits for {reason.ref}, until {at}"
    return f"can’t start before {at}"


def _set_pins(targets: Mapping[int, date], now: datetime, by: User | None) -> None:
    for pk, monday in targets.items():
        Pin.objects.update_or_create(task_id=pk, defaults={"monday": monday, "set_at": now, "set_by": by})
    _touch(targets)


def _touch(tasks: Iterable[int]) -> None:
    """Makes every page that shows these tasks stale."""
    Task.objects.filter(pk__in=list(tasks)).update(version=F("version") + 1)
