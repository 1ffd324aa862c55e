"""What another day of a delivery does to the handovers, in words: two plans held against each other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date

from builds.engines.planning.lateness import difference
from builds.engines.planning.plan import Plan
from builds.models import Build
from builds.queries.forecast import forecast
from builds.queries.opening import OpeningTimes, instant
from builds.templatetags.words import day as day_words


def lines_of_dates(before: Plan, after: Plan, times: OpeningTimes) -> tuple[str, ...]:
    """Each handover that changes with how it stands to its promise, then how much else moves; one query."""
    told = difference(before, after)
    vans = {b.pk: b for b in Build.objects.to_plan()}
    lines = list(_handovers(told.handovers, vans, times))
    later = sum(m.after > m.before for m in told.moved)
    earlier = sum(m.after < m.before for m in told.moved)
    return (
        *(lines or ["No handover changes."]),
        *(
            f"{_tasks(count)} a day or more {way}."
            for count, way in ((later, "later"), (earlier, "earlier"))
            if count
        ),
        *([f"{_tasks(len(told.now_unplanned))} nowhere any more."] if told.now_unplanned else []),
    )


def _tasks(count: int) -> str:
    return "1 task starts" if count == 1 else f"{count} tasks start"


def _handovers(
    changed: Mapping[str, tuple[int | None, int | None]], vans: Mapping[int, Build], times: OpeningTimes
) -> Iterator[str]:
    for key, ends in changed.items():
        old, new = (times.day_of(instant(at)) if at is not None else None for at in ends)
        van = vans.get(int(key))
        if van is None or old == new:
            continue
        kept = _kept(new, van.promised_on, times)
        yield f"{van.name} is handed over {_named(new)}, not {_named(old)}{kept}."


def _named(day: date | None) -> str:
    return day_words(day) or "on no day yet"


def _kept(handover: date | None, promised: date | None, times: OpeningTimes) -> str:
    found = forecast(handover, promised, times)
    if not found.state:
        return ""
    if found.is_late:
        return f": {found.words}, {day_words(promised)} is promised"
    return f": still with {found.words}" if found.spare_days else f": {found.words}"
