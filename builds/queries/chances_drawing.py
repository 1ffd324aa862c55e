"""The chances of one build drawn: a bar to the day each share of runs keeps, promise and forecast across."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from builds.queries.chances import Chances
from builds.templatetags.words import day as day_words

WIDTH, LEFT, RIGHT = 392, 144, 6
TOP, ROW = 24, 30
MARGIN_DAYS = 3


@dataclass(frozen=True, slots=True)
class Bar:
    """One share of the runs: its day, and how far its bar goes."""

    name: str
    y: int
    width: int
    is_late: bool
    words: str


@dataclass(frozen=True, slots=True)
class Across:
    """A line over all bars, with its words on the side where there is room."""

    x: int
    words: str
    anchor: str


@dataclass(frozen=True, slots=True)
class ChancesDrawing:
    width: int
    height: int
    left: int
    bottom: int
    bars: tuple[Bar, ...]
    weeks: tuple[int, ...]
    promise: Across | None
    forecast: Across | None


def draw_chances(chances: Chances) -> ChancesDrawing | None:
    """Where everything stands on the drawing; None where no chances are known."""
    if chances.half is None or chances.likely is None or chances.sure is None:
        return None
    days = [chances.half, chances.likely, chances.sure]
    shown = [*days, *(d for d in (chances.promised, chances.forecast) if d)]
    first, last = min(shown) - timedelta(days=MARGIN_DAYS), max(shown) + timedelta(days=MARGIN_DAYS)
    a_day = (WIDTH - LEFT - RIGHT) / (last - first).days

    def x(day: date) -> int:
        return LEFT + round((day - first).days * a_day)

    rows = zip(("50 of 100", "80 of 100", "95 of 100"), days, strict=True)
    bottom = TOP + 3 * ROW
    return ChancesDrawing(
        width=WIDTH,
        height=bottom + 20,
        left=LEFT,
        bottom=bottom,
        bars=tuple(_bar(name, TOP + k * ROW, x(day), day, chances) for k, (name, day) in enumerate(rows)),
        weeks=_weeks(first, last, x),
        promise=_across(x(chances.promised), "promised", chances.promised) if chances.promised else None,
        forecast=_across(x(chances.forecast), "forecast", chances.forecast) if chances.forecast else None,
    )


def _bar(name: str, y: int, end: int, day: date, chances: Chances) -> Bar:
    return Bar(
        name=name,
        y=y,
        width=end - LEFT,
        is_late=chances.promised is not None and day > chances.promised,
        words=day_words(day),
    )


def _across(x: int, what: str, day: date) -> Across:
    words = f"{what} {day_words(day)}"
    if x - LEFT < 60:
        return Across(x, words, "start")
    return Across(x, words, "end" if x > WIDTH - 60 else "middle")


def _weeks(first: date, last: date, x) -> tuple[int, ...]:
    """The Mondays between, as faint lines; none where they would stand too close."""
    monday = first + timedelta(days=-first.weekday() % 7)
    found = []
    while monday <= last:
        found.append(x(monday))
        monday += timedelta(days=7)
    return tuple(found) if len(found) <= 30 else ()
