"""What follows what in a plan: links, and who or what is handed from one job to the next.

With these arcs and the crews held, a plan can be played through with other lengths of work: nothing
overtakes, and nobody is in two places.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from .plan import Plan
from .prepare import Job, Prepared


@dataclass(frozen=True, slots=True)
class Arc:
    """A job may start `wait` clock minutes and `slots` working slots after another finishes."""

    before: int
    wait: int = 0
    slots: int = 0


@dataclass(frozen=True, slots=True)
class Played:
    """A plan made ready to play through.

    `order` are the planned jobs by start, `crews` their people, `arcs` what each waits for, `bay_before`
    the van whose last bay work must end before a van's first may start.
    """

    order: tuple[int, ...]
    crews: dict[int, tuple[int, ...]]
    arcs: dict[int, tuple[Arc, ...]]
    bay_before: dict[int, int]


def arcs_of(prepared: Prepared, plan: Plan) -> Played:
    """The arcs of a plan: links, people, places, positions of a van, claims and bays.

    The drying rack is left out: how full it is does not bind by one job but by many.
    """
    jobs = prepared.jobs
    spans = {prepared.numbers[p.task]: (p.start, p.finish) for p in plan.planned}
    order = sorted(spans, key=lambda n: (spans[n][0], spans[n][1], n))
    crews = {
        prepared.numbers[p.task]: tuple(
            prepared.fitter_numbers[f] for f in p.fitters if f in prepared.fitter_numbers
        )
        for p in plan.planned
    }
    arcs: dict[int, dict[tuple[int, int, int], None]] = defaultdict(dict)
    for n in order:
        for before, wait in jobs[n].after:
            if before in spans:
                arcs[n][before, wait, 0] = None
    _people(order, crews, arcs)
    _places(jobs, order, spans, arcs)
    _on_the_van(prepared, order, spans, arcs)
    return Played(
        order=tuple(order),
        crews=crews,
        arcs={n: tuple(Arc(*a) for a in arcs[n]) for n in order},
        bay_before=_bays(prepared, order, spans),
    )


def _people(
    order: list[int], crews: dict[int, tuple[int, ...]], arcs: dict[int, dict[tuple[int, int, int], None]]
) -> None:
    last: dict[int, int] = {}
    for n in order:
        for k in crews[n]:
            if k in last:
                arcs[n][last[k], 0, 0] = None
            last[k] = n


def _places(
    jobs: list[Job],
    order: list[int],
    spans: dict[int, tuple[int, int]],
    arcs: dict[int, dict[tuple[int, int, int], None]],
) -> None:
    """Each unit of a counted place goes from the job that leaves it to the one that takes it next."""
    units: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for n in order:
        job = jobs[n]
        if job.room < 0:
            continue
        free = units[job.room]
        room = job.level + job.amount
        while len(free) < room:
            free.append((0, -1))
        free.sort()
        for _ in range(job.amount):
            at = max((k for k, (since, _) in enumerate(free) if since <= spans[n][0]), default=0)
            before = free.pop(at)[1]
            if before >= 0 and before != n:
                arcs[n][before, jobs[before].dries, 0] = None
        free += [(spans[n][1] + job.dries, n)] * job.amount


def _on_the_van(
    prepared: Prepared,
    order: list[int],
    spans: dict[int, tuple[int, int]],
    arcs: dict[int, dict[tuple[int, int, int], None]],
) -> None:
    """Work at another position waits for the work before it, and so does work that claims the van."""
    jobs, move = prepared.jobs, prepared.move_slots
    by_van: dict[int, list[int]] = defaultdict(list)
    for n in order:
        if jobs[n].needs_van and jobs[n].van >= 0:
            by_van[jobs[n].van].append(n)
    for mine in by_van.values():
        for at, n in enumerate(mine):
            for before in reversed(mine[max(0, at - 40) : at]):
                if spans[before][1] > spans[n][0]:
                    continue
                apart = jobs[n].position != jobs[before].position and -1 not in (
                    jobs[n].position,
                    jobs[before].position,
                )
                if apart:
                    arcs[n][before, jobs[before].still, move] = None
                elif jobs[n].claims or jobs[before].claims:
                    arcs[n][before, 0, 0] = None


def _bays(prepared: Prepared, order: list[int], spans: dict[int, tuple[int, int]]) -> dict[int, int]:
    """Which van's bay each van takes over, bays given out by who comes first."""
    if prepared.problem.bays is None:
        return {}
    stays: dict[int, tuple[int, int]] = {}
    for n in order:
        van = prepared.jobs[n].van
        if prepared.jobs[n].bay:
            first, last = stays.get(van, spans[n])
            stays[van] = (min(first, spans[n][0]), max(last, spans[n][1]))
    free: list[tuple[int, int]] = [(0, -1)] * prepared.problem.bays
    before: dict[int, int] = {}
    for van, (first, last) in sorted(stays.items(), key=lambda s: (s[1], s[0])):
        free.sort()
        at = max((k for k, (since, _) in enumerate(free) if since <= first), default=None)
        if at is None:
            continue
        gone = free.pop(at)[1]
        if gone >= 0:
            before[van] = gone
        free.append((last, van))
    return before
