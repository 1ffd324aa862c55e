"""What stands in the cells of the wall sheet: pieces of work, and what happens to a van in a week."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from builds.models import Build
from builds.queries.capacity import halves
from builds.queries.forecast import Forecast
from builds.queries.opening import OpeningTimes, monday_of
from builds.queries.planned_work import Work, mark_of
from builds.templatetags.words import hours

WEEK = timedelta(days=7)

Share = tuple[Work, float]
"""A piece of work with the hours of it, for each of its crew, that fall into one week."""


@dataclass(frozen=True, slots=True)
class Item:
    """One line in a cell: a unit's or installation's work of the week, or one task of one van.

    `key` and `mark` name it for a move; empty where nothing of it can be moved any more. `pin` is
    "", "pinned" or "pin not kept".
    """

    key: str
    mark: str
    name: str
    hours: str
    shape: str
    title: str
    pin: str
    task: int | None


@dataclass(frozen=True, slots=True)
class Cell:
    """One week of one row; `events` are (shape, words) of the van as a whole."""

    monday: date
    classes: str
    stage: str
    events: tuple[tuple[str, str], ...]
    items: tuple[Item, ...]

    @property
    def week(self) -> str:
        return self.monday.isoformat()


def items_by_group(work: Sequence[Share], monday: date, times: OpeningTimes) -> Iterator[Item]:
    """A van's work of a week, a line for each unit and installation."""
    by_group: dict[tuple, list[Share]] = defaultdict(list)
    for share in work:
        by_group[share[0].group].append(share)
    for group, rows in sorted(by_group.items(), key=lambda g: (g[1][0][0].group_order, g[0])):
        movable = [w for w, _ in rows if can_move(w) and _starts_in(w, monday, times)]
        found = [w for w, _ in rows]
        yield Item(
            key=f"{group[0]}-{group[1]}:{monday}" if movable else "",
            mark=mark_of(movable) if movable else "",
            name=found[0].group_name,
            hours=_at_least_half(sum(part * w.crew for w, part in rows)),
            shape=_shape_of(found),
            title="; ".join(w.name for w in found),
            pin=_pin_of(found),
            task=None,
        )


def items_by_task(work: Sequence[Share], monday: date, times: OpeningTimes) -> Iterator[Item]:
    """A unit's work of a week, task by task; what goes on from an earlier week is moved from there."""
    for row, part in work:
        can = can_move(row) and _starts_in(row, monday, times)
        yield Item(
            key=str(row.pk) if can else "",
            mark=mark_of([row]) if can else "",
            name=row.name,
            hours=_at_least_half(part * row.crew),
            shape=_shape_of([row]),
            title="",
            pin=_pin_of([row]),
            task=row.pk,
        )


def events_of(build: Build, forecast: Forecast, monday: date) -> Iterator[tuple[str, str]]:
    """What happens to the van as a whole in that week, each with its shape."""
    end = monday + WEEK
    if build.arrives_on and monday <= build.arrives_on < end:
        yield "van", f"comes {_short(build.arrives_on)}"
    if forecast.handover and monday <= forecast.handover < end:
        yield ("late" if forecast.is_late else "good"), f"handover {_short(forecast.handover)}"
    if build.promised_on and monday <= build.promised_on < end:
        yield "told", f"promised {_short(build.promised_on)}"


def can_move(row: Work) -> bool:
    """Whether a move may take it: neither done nor begun."""
    return row.state in ("to do", "stopped")


def is_before(build: Build, monday: date) -> bool:
    """Whether the van is not here at all in that week."""
    return build.arrives_on is None or monday + WEEK <= build.arrives_on


def is_after(build: Build, forecast: Forecast, monday: date) -> bool:
    """Whether the van is gone by then: after its handover and its promise both."""
    ends = [d for d in (forecast.handover, build.promised_on) if d]
    return forecast.handover is not None and monday > max(ends)


def classes(**flags: bool) -> str:
    return " ".join(name.replace("_", "-") for name, on in flags.items() if on)


def _short(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


def _at_least_half(value: float) -> str:
    return hours(max(0.5, halves(value)))


def _starts_in(row: Work, monday: date, times: OpeningTimes) -> bool:
    return row.start is not None and monday_of(times.day_of(row.start)) == monday


def _pin_of(rows: Sequence[Work]) -> str:
    if any("pin broken" in w.flags for w in rows if w.pin):
        return "pin not kept"
    return "pinned" if any(w.pin for w in rows if w.state != "done") else ""


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
