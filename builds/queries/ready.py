"""When a build not yet taken on could be ready, without a day's change for the vans that are."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from builds.engines.planning.ready import Ready, when_ready
from builds.engines.planning.rehearse import rehearse
from builds.models import Build, Shop, Task
from builds.queries.build_page import UNPLANNED_WORDS, UnplannedLine
from builds.queries.chances import SHARES, Chances
from builds.queries.opening import OpeningTimes, instant, opening_times
from builds.queries.problem import shop_problem
from builds.queries.spread import hours_spread

RUNS = 100
SEED = 1


@dataclass(frozen=True)
class ReadyPage:
    """The answer for one build. `earliest` is the day the van may come from; `arrives` when it should.

    `begins` is the day of its first work, which may need no van. `chances` has the days that 50, 80 and
    95 of 100 runs keep and, as forecast, the day planned; without them `unplanned` says why.
    """

    earliest: date
    arrives: date | None
    begins: date | None
    chances: Chances
    unplanned: tuple[UnplannedLine, ...]
    tasks: int
    vans: int

    @property
    def may_promise(self) -> bool:
        """Whether there is a day to promise that follows the day the van comes."""
        return bool(self.arrives and self.chances.likely and self.chances.likely > self.arrives)


def ready_page(build: Build, earliest: date, now: datetime, *, shop: Shop, runs: int = RUNS) -> ReadyPage:
    """Plans the build behind all that is agreed and plays it through; some seconds for a full shop."""
    times = opening_times(shop)
    problem = shop_problem(now, shop=shop, also=(build.pk,))
    tasks = sum(t.van == str(build.pk) for t in problem.tasks)
    found = when_ready(problem, str(build.pk), earliest=earliest)
    return ReadyPage(
        earliest=earliest,
        arrives=found.arrives,
        begins=times.day_of(instant(found.begins)) if found.begins is not None else None,
        chances=_chances(found, str(build.pk), times, runs),
        unplanned=_unplanned(found),
        tasks=tasks,
        vans=len(problem.vans) - 1,
    )


def earliest_arrival(build: Build, today: date) -> date:
    """The day a van may come from when nobody says otherwise: its own day, tomorrow at the earliest."""
    tomorrow = today + timedelta(days=1)
    return max(build.arrives_on or tomorrow, tomorrow)


def _chances(found: Ready, van: str, times: OpeningTimes, runs: int) -> Chances:
    if found.handover is None:
        return Chances("fresh")
    dates = rehearse(
        found.problem,
        found.plan,
        seed=SEED,
        runs=runs,
        hours=hours_spread(found.problem),
        crews=found.problem.crews,
    )
    assert dates is not None, "nobody stops it"
    half, likely, sure = (
        times.day_of(instant(at)) if at is not None else None
        for at in (dates.kept_in(van, share) for share in SHARES.values())
    )
    return Chances("fresh", half, likely, sure, forecast=times.day_of(instant(found.handover)))


def _unplanned(found: Ready) -> tuple[UnplannedLine, ...]:
    codes = {int(u.task): u.code for u in found.unplanned if u.code != "follows"}
    names = Task.objects.filter(pk__in=codes).order_by("order", "pk").values_list("pk", "name")
    return tuple(UnplannedLine(pk, name, UNPLANNED_WORDS.get(codes[pk], codes[pk])) for pk, name in names)
