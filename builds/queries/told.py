"""What the crew was told for this week and next, and what has changed in the plan since."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from .capacity import this_and_next
from .opening import OpeningTimes, monday_of
from .planned_work import Work


@dataclass(frozen=True, slots=True)
class ToTell:
    """One task of this week or next as the plan has it now."""

    work: Work
    monday: date


@dataclass(frozen=True, slots=True)
class ToldChange:
    """A task that stands otherwise than the crew was told. `kind`: "new", "week", "hands" or "out"."""

    task: int
    build: int
    name: str
    group_name: str
    kind: str
    words: str


def to_tell(work: Iterable[Work], today: date, times: OpeningTimes) -> list[ToTell]:
    """The unfinished work that the plan starts this week or next, and what is under way."""
    this, following = this_and_next(today)
    found = []
    for row in work:
        monday = week_of_start(row, this, times)
        if row.state != "done" and monday in (this, following):
            found.append(ToTell(row, monday))
    return found


def changes_since_told(
    work: Iterable[Work], today: date, times: OpeningTimes, names: Mapping[int, str]
) -> tuple[ToldChange, ...]:
    """What the crew would hear anew if it were told now; empty while it was never told.

    `names` are people by id.
    """
    work = [row for row in work if row.state != "done"]
    this, following = this_and_next(today)
    found = (_change(row, this, following, times, names) for row in work)
    return tuple(change for change in found if change)


def week_of_start(row: Work, this_monday: date, times: OpeningTimes) -> date | None:
    """The week a task belongs to when told: of its start, but never one that is over."""
    if row.start is None:
        return None
    return max(monday_of(times.day_of(row.start)), this_monday)


def _change(row: Work, this: date, following: date, times: OpeningTimes, names) -> ToldChange | None:
    week = week_of_start(row, this, times)
    near = week in (this, following)
    if row.told is None and not near:
        return None
    told = max(row.told, this) if row.told else None
    if told is None:
        kind, words = "new", f"new for the week of {_day(week)}"
    elif week is None:
        kind, words = "out", f"told for the week of {_day(told)}, can’t be planned now"
    elif week != told:
        kind, words = "week", f"told for the week of {_day(told)}, now in the week of {_day(week)}"
    elif set(row.told_fitters) != set(row.fitters):
        before, after = _people(row.told_fitters, names), _people(row.fitters, names)
        kind, words = "hands", f"changes hands: {before}, now {after}"
    else:
        return None
    return ToldChange(row.pk, row.build, row.name, row.group_name, kind, words)


def _people(ids: Iterable[int], names: Mapping[int, str]) -> str:
    return " and ".join(names.get(pk, "somebody who left") for pk in ids) or "nobody"


def _day(day: date | None) -> str:
    return f"{day.day} {day:%b}" if day else ""
