"""What a remedy asks for, and where in the app the owner does it, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from urllib.parse import urlencode

from builds.engines.planning.remedies import Remedy, Tried
from builds.models import Build, Delivery, Person, Place, Task, Trade
from builds.queries.opening import OpeningTimes, instant
from builds.templatetags.words import count, listed
from builds.templatetags.words import day as day_words

HALF_A_DAY = 0.5


@dataclass(frozen=True, slots=True)
class RemedyLine:
    """One remedy that was tried: what it asks for, what it does, what it costs, where to do it.

    `url` is a url name and `args` its arguments, `query` what follows the address.
    """

    asks: str
    gives: str
    costs: str
    url: str
    args: tuple[int, ...]
    query: str = ""

    def as_stored(self) -> dict:
        return asdict(self)


class RemedyWords:
    """The names of a shop's tasks, people, places and trades read once; five queries."""

    def __init__(self, times: OpeningTimes) -> None:
        self._times = times
        tasks = Task.objects.kept().filter(build__status="agreed").select_related("unit", "installation")
        self._tasks = {str(t.pk): t for t in tasks}
        self._vans = {str(pk): name for pk, name in Build.objects.values_list("pk", "name")}
        self._people = {str(pk): name for pk, name in Person.objects.values_list("pk", "name")}
        self._places = dict(Place.objects.values_list("key", "name"))
        self._trades = dict(Trade.objects.values_list("key", "name"))

    def line(self, tried: Tried, van: str) -> RemedyLine:
        url, args = self._where(tried.remedy, van)
        asks, gives, costs = self.asks(tried.remedy, van), self._gives(tried, van), self._costs(tried)
        first = {"kind": "first", "build": van, "place": tried.remedy.place}
        query = f"?{urlencode(first)}#try-first" if tried.remedy.kind == "first" else ""
        return RemedyLine(asks, gives, costs, url, args, query)

    def asks(self, remedy: Remedy, van: str) -> str:
        """What the owner would have to do, as a phrase that starts a sentence."""
        task = self._named(remedy.task)
        when = day_words(remedy.day or remedy.week) if remedy.day or remedy.week else ""
        match remedy.kind:
            case "hands":
                return f"One more pair of hands in {self._trade(remedy)} in the week of {when}"
            case "date" if remedy.what == "delivery":
                return f"“{remedy.ref}” here by {when}"
            case "date" if remedy.what == "decision":
                return f"“{remedy.ref}” decided by {when}"
            case "date":
                return f"{task} free to start after {when}"
            case "first":
                place = self._places.get(remedy.place or "", "where vans meet")
                return f"{self._vans.get(van, '')} goes first at the place “{place}”"
            case "pin":
                return f"The pin of {task} lifted"
            case "visit":
                return f"{self._people.get(remedy.fitter or '', 'The visitor')} here on {when} too"
            case "out":
                return f"{task} given out"
        return f"{task} done after handover"

    def _trade(self, remedy: Remedy) -> str:
        return self._trades.get(remedy.trade or "", "").lower()

    def _named(self, pk: str | None) -> str:
        task = self._tasks.get(pk or "")
        return f"“{task.name}” ({task.group_name})" if task else "that work"

    def _gives(self, tried: Tried, van: str) -> str:
        after = tried.handovers[van][1]
        days = count(max(1, round(tried.days_gained)), "day,days")
        if after is None:
            return f"{days} sooner"
        return f"{days} sooner, {day_words(self._times.day_of(instant(after)))}"

    def _costs(self, tried: Tried) -> str:
        later = {v: round(d) for v, d in tried.others.items() if d >= HALF_A_DAY}
        if not later:
            return "no other van comes later"
        worst = sorted(later.items(), key=lambda item: -item[1])
        return listed(f"{self._vans.get(v, '')} {count(max(1, d), 'day,days')} later" for v, d in worst)

    def _where(self, remedy: Remedy, van: str) -> tuple[str, tuple[int, ...]]:
        build = int(van)
        if remedy.kind == "hands":
            return "person-list", ()
        if remedy.kind == "visit" and remedy.fitter:
            return "person", (int(remedy.fitter),)
        if remedy.kind == "first":
            return "what-if", ()
        if remedy.kind == "date" and remedy.what == "delivery":
            return self._delivery(remedy, build)
        if remedy.kind == "date" and remedy.what == "decision":
            return "decision-list", ()
        task = self._tasks.get(remedy.task or "")
        return ("task", (task.build_id, task.pk)) if task else ("build-work", (build,))

    def _delivery(self, remedy: Remedy, build: int) -> tuple[str, tuple[int, ...]]:
        found = Delivery.objects.filter(what=remedy.ref, arrived_on=None, tasks=remedy.task).first()
        return ("delivery", (found.pk,)) if found else ("delivery-list", ())


def stored_lines(rows: Sequence[dict]) -> tuple[RemedyLine, ...]:
    """The lines as they were stored beside the plan."""
    return tuple(RemedyLine(**(row | {"args": tuple(row["args"])})) for row in rows)
