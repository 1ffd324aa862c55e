"""When a van is forecast to be handed over, held against what the customer was promised."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from builds.models import Build, PlanState
from builds.queries.opening import OpeningTimes


@dataclass(frozen=True, slots=True)
class Forecast:
    """The day the plan hands a van over, and how it stands to the promise.

    `late_days` counts opening days after the promise (0: kept), `spare_days` those before it; both
    are None without a promise or while some of the work can't be planned.
    """

    handover: date | None
    promised: date | None
    late_days: int | None
    spare_days: int | None
    why_none: str = "can’t be planned yet"

    @property
    def is_late(self) -> bool:
        return bool(self.late_days)

    @property
    def state(self) -> str:
        """The word for the state mark: "late", "at risk", "on time", or "" where there is nothing to say."""
        if self.late_days is None or self.spare_days is None:
            return ""
        return "late" if self.late_days else "at risk" if self.spare_days < 3 else "on time"

    @property
    def words(self) -> str:
        if self.handover is None:
            return self.why_none
        if self.late_days is None or self.spare_days is None:
            return "no promise yet"
        if self.late_days:
            return f"{_days(self.late_days)} late"
        return f"{_days(self.spare_days)} to spare" if self.spare_days else "on the promised day"


def forecast_of(build: Build, state: PlanState | None, times: OpeningTimes) -> Forecast:
    """The forecast of one build from the stored plan, which may not have taken it in yet."""
    if build.status == "asked":
        return Forecast(None, build.promised_on, None, None, "not taken on yet")
    if state is None or str(build.pk) not in state.handovers:
        return Forecast(None, build.promised_on, None, None, "being planned")
    text = state.handovers[str(build.pk)]
    day = times.day_of(datetime.fromisoformat(text)) if text else None
    return forecast(day, build.promised_on, times)


def forecast(handover: date | None, promised: date | None, times: OpeningTimes) -> Forecast:
    if handover is None or promised is None:
        return Forecast(handover, promised, None, None)
    return Forecast(
        handover,
        promised,
        late_days=open_days_after(promised, handover, times),
        spare_days=open_days_after(handover, promised, times),
    )


def open_days_after(first: date, last: date, times: OpeningTimes) -> int:
    """Opening days after `first` up to `last`; 0 when `last` is not later."""
    days = (last - first).days
    return sum(times.is_open(first + timedelta(days=n)) for n in range(1, days + 1))


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"
