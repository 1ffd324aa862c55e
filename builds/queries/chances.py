"""How sure a date is: the days that so many of 100 runs keep, and how often the promise is kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from builds.models import Build, PlanState, Shop
from builds.queries.forecast import forecast_of
from builds.queries.opening import OpeningTimes

SHARES = {"50": 0.5, "80": 0.8, "95": 0.95}

NOT_YET, STALE, FRESH = "not yet", "stale", "fresh"


@dataclass(frozen=True, slots=True)
class Chances:
    """One build's chances. `half`, `likely` and `sure` are the days that 50, 80 and 95 of 100 runs keep.

    `state` is "not yet" while they were never worked out, "stale" where they are of an earlier plan,
    else "fresh"; the days are None where there are none. `kept` counts the runs of 100 that keep the
    promise, None without one.
    """

    state: str
    half: date | None = None
    likely: date | None = None
    sure: date | None = None
    kept: int | None = None
    forecast: date | None = None
    promised: date | None = None

    @property
    def is_known(self) -> bool:
        return self.half is not None

    @property
    def is_fresh(self) -> bool:
        return self.state == FRESH

    @property
    def words(self) -> str:
        """One line for a list: "kept in 64 of 100 runs"; empty where there is nothing to say."""
        if self.kept is None:
            return ""
        line = f"kept in {self.kept} of 100 runs"
        return line if self.is_fresh else f"{line}, before the last change"


def chances_of(build: Build, state: PlanState | None, shop: Shop, times: OpeningTimes) -> Chances:
    """The chances of one build as they are stored beside the plan."""
    if state is None or state.chances_of is None:
        return Chances(NOT_YET)
    fresh = FRESH if state.chances_of == shop.revision else STALE
    found = state.chances.get(str(build.pk))
    if found is None:
        return Chances(fresh)

    def day(key: str) -> date:
        return times.day_of(datetime.fromisoformat(found[key]))

    promised = build.promised_on
    return Chances(
        state=fresh,
        half=day("50"),
        likely=day("80"),
        sure=day("95"),
        kept=of_100(found["kept"]) if promised and found["kept"] is not None else None,
        forecast=forecast_of(build, state, times).handover,
        promised=promised,
    )


def of_100(share: float) -> int:
    """A share of runs in whole hundredths; 0 and 100 are said only where it is none or all of them."""
    if share in (0.0, 1.0):
        return round(share * 100)
    return min(99, max(1, round(share * 100)))
