"""Days across a drawing: where an instant stands when only the days that the shop may open are drawn."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from builds.queries.opening import OpeningTimes

NAMES_PX = 132


@dataclass(frozen=True)
class DrawnDay:
    """A day's column. `closed` says why the shop is shut on it, "" when open."""

    day: date
    x: int
    width: int
    closed: str
    letter: str
    is_monday: bool


@dataclass(frozen=True)
class DayAxis:
    days: tuple[date, ...]
    columns: tuple[DrawnDay, ...]
    index: dict[date, int]
    day_px: int
    times: OpeningTimes

    @property
    def end(self) -> int:
        return NAMES_PX + len(self.days) * self.day_px

    def x_of_day(self, day: date) -> int:
        """The left edge of a day; of the next that is drawn where it is not."""
        drawn = next((d for d in self.days if d >= day), None)
        return self.end if drawn is None else NAMES_PX + self.index[drawn] * self.day_px

    def x(self, at: datetime) -> int:
        """Where an instant stands: within its day by opening minutes, at an edge outside of the days."""
        day = self.times.day_of(at)
        if day < self.days[0]:
            return NAMES_PX
        if day not in self.index:
            return self.x_of_day(day)
        spans = self.times.week.get(day.weekday(), ())
        local = at.astimezone(self.times.zone)
        minute = local.hour * 60 + local.minute
        passed = sum(max(0, min(b, minute) - a) for a, b in spans)
        whole = sum(b - a for a, b in spans)
        share = passed / whole if whole else minute / 1440
        return self.x_of_day(day) + round(share * self.day_px)

    def meets(self, start: datetime, end: datetime) -> bool:
        """Whether a stretch of time shows on the drawing at all."""
        first, last = (
            self.times.start_of(self.days[0]),
            self.times.start_of(self.days[-1] + timedelta(days=1)),
        )
        return start < last and end > first


def day_axis(first: date, weeks: int, day_px: int, times: OpeningTimes) -> DayAxis:
    """The axis of some weeks: weekdays that the shop ever opens, closed ones among them too."""
    every = [first + timedelta(days=n) for n in range(7 * weeks)]
    days = tuple(d for d in every if times.week.get(d.weekday())) or tuple(every)
    columns = tuple(
        DrawnDay(
            day=d,
            x=NAMES_PX + n * day_px,
            width=day_px,
            closed=times.why_closed(d) or "",
            letter=f"{d:%a}"[:1] if day_px < 30 else f"{d:%a}",
            is_monday=n == 0 or d.isocalendar().week != days[n - 1].isocalendar().week,
        )
        for n, d in enumerate(days)
    )
    return DayAxis(days, columns, {d: n for n, d in enumerate(days)}, day_px, times)
