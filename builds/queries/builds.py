"""All builds at a glance: where each stands, and how its forecast stands to its promise."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Count, F, Q, Sum

from builds.models import Build, PlanState, Shop, Task
from builds.queries.chances import chances_of
from builds.queries.forecast import Forecast, forecast_of
from builds.queries.opening import OpeningTimes, opening_times

GROUPS = (
    ("here", "In the shop"),
    ("to come", "To come"),
    ("asked", "Asked about"),
    ("handed over", "Handed over"),
    ("dropped", "Dropped"),
)


@dataclass(frozen=True, slots=True)
class BuildLine:
    """One build on the list. `week` is its open shop week of `weeks` to the promise (None: not here yet)."""

    pk: int
    name: str
    customer: str
    arrives_on: date | None
    handed_over_on: date | None
    week: int | None
    weeks: int | None
    forecast: Forecast
    chances: str
    hours_done: float
    hours_all: float
    is_return: bool

    @property
    def share_done(self) -> float:
        return self.hours_done / self.hours_all if self.hours_all else 0.0


@dataclass(frozen=True, slots=True)
class BuildGroup:
    key: str
    name: str
    lines: tuple[BuildLine, ...]


def build_list(now: datetime, *, shop: Shop | None = None) -> tuple[BuildGroup, ...]:
    """Every build, in groups by how far it is; five queries, six without `shop`."""
    shop = shop or Shop.objects.get_or_create(pk=1)[0]
    times = opening_times(shop)
    today = times.day_of(now)
    state = PlanState.objects.filter(pk=1).first()
    hours = _hours_by_build()
    groups: dict[str, list[BuildLine]] = defaultdict(list)
    for build in Build.objects.select_related("customer"):
        groups[_group(build, today)].append(
            _line(build, today, times, state, shop, hours.get(build.pk, (0.0, 0.0)))
        )
    return tuple(BuildGroup(key, name, tuple(groups[key])) for key, name in GROUPS if groups[key])


def week_of_build(build: Build, day: date, times: OpeningTimes) -> tuple[int | None, int | None]:
    """Which open shop week of its stay `day` is in, and how many there are to the promise."""
    if build.arrives_on is None:
        return None, None
    weeks = times.week_number(build.arrives_on, build.promised_on) if build.promised_on else None
    return (times.week_number(build.arrives_on, day) if build.arrives_on <= day else None), weeks


def _hours_by_build() -> dict[int, tuple[float, float]]:
    """Person-hours planned for done work and for all of it, by build."""
    work = F("hours") * F("crew")
    rows = (
        Task.objects.kept()
        .order_by()
        .values("build_id")
        .annotate(all=Sum(work), done=Sum(work, filter=Q(state="done")), count=Count("id"))
    )
    return {r["build_id"]: (float(r["done"] or 0), float(r["all"] or 0)) for r in rows}


def _group(build: Build, today: date) -> str:
    if build.status == "agreed":
        return "here" if build.arrives_on and build.arrives_on <= today else "to come"
    return "asked" if build.status == "asked" else build.status


def _line(build: Build, today: date, times: OpeningTimes, state, shop, hours) -> BuildLine:
    week, weeks = week_of_build(build, today, times)
    return BuildLine(
        pk=build.pk,
        name=build.name,
        customer=build.customer.name,
        arrives_on=build.arrives_on,
        handed_over_on=build.handed_over_on,
        week=week,
        weeks=weeks,
        forecast=forecast_of(build, state, times),
        chances=chances_of(build, state, shop, times).words,
        hours_done=hours[0],
        hours_all=hours[1],
        is_return=build.return_of_id is not None,
    )
