"""Why each task starts when it does: found by asking what stops it from starting a slot earlier."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict

from .calendar import monday_of, week_bounds
from .decode import Decoding
from .plan import Reason
from .prepare import Job
from .problem import Task

Taken = tuple[int, int, int, int]
"""Slots from, slots to (exclusive), job number, amount."""


class Binding:
    """Asks a finished decoding what bound a start. Build it once for a whole plan."""

    def __init__(self, decoding: Decoding) -> None:
        self.decoding = decoding
        self.prepared = decoding.prepared
        self.problem = decoding.prepared.problem
        self.axis = decoding.prepared.axis
        self._by_fitter: dict[int, _Rows] = defaultdict(_Rows)
        self._by_room: dict[int, _Rows] = defaultdict(_Rows)
        self._by_van: dict[int, _Rows] = defaultdict(_Rows)
        self._rack = _Rows()
        for job in self.prepared.jobs:
            if decoding.start[job.number] >= 0:
                self._note(job)
        for rows in (*self._by_fitter.values(), *self._by_room.values(), *self._by_van.values(), self._rack):
            rows.rows.sort()

    def reason(self, job: Job) -> Reason:
        """What bound the job's start."""
        task = self.problem.tasks[job.number]
        if task.state == "under way" and task.fitters:
            return Reason("started")
        start = self.decoding.start[job.number]
        bound, reason = self._by_dates(job, task, start)
        crew = self.prepared.crew(self.decoding.crew[job.number])
        here = bisect_left(crew.slots, start)
        before = crew.slots[here - 1] if here and crew.slots[here - 1] >= bound else None
        if before is None:
            return self._by_hours(job, bound, start, reason)
        return self._by_others(job, before, start, crew.slots[here - 1 + job.slots - 1] + 1)

    def _note(self, job: Job) -> None:
        start, finish = self.decoding.start[job.number], self.decoding.finish[job.number]
        ends = self.axis.end(finish)
        for k in self.decoding.crew[job.number]:
            self._by_fitter[k].add((start, finish, job.number, 1))
        if job.room >= 0:
            until = self.axis.slot(ends + job.dries) if job.dries else finish
            self._by_room[job.room].add((start, until, job.number, job.amount))
        if job.rack:
            since = max(0, self.axis.slot(ends + job.dries + 1) - 1)
            self._rack.add((since, self.axis.slot(ends + job.dries + job.rack), job.number, 1))
        if job.needs_van and job.van >= 0:
            self._by_van[job.van].add((start, finish, job.number, 1))

    def _by_dates(self, job: Job, task: Task, start: int) -> tuple[int, Reason]:
        """The last of the bounds that dates and predecessors set: its slot and what it is."""
        zone, axis = self.problem.opening.zone, self.axis
        bounds = [(self.problem.now, 0, Reason("now"))]
        for date in task.not_before:
            bounds.append((date.at, 2, Reason(date.kind, date.ref, until=date.at)))
        if task.id in self.problem.holds:
            bounds.append((self.problem.holds[task.id], -1, Reason("kept")))
        if task.pin_week:
            bounds.append((week_bounds(monday_of(task.pin_week), zone)[0], 1, Reason("pin")))
        if task.told_week:
            begins, ends = week_bounds(monday_of(task.told_week), zone)
            if ends > self.problem.now:
                bounds.append((begins, 1, Reason("told")))
        if job.needs_van:
            since = self._here_since(job.van, start)
            bounds.append((since, 2, Reason("arrival", self.problem.vans[job.van].id, until=since)))
        finished = self.finished
        for link in task.after:
            if link.task not in self.prepared.numbers:
                continue
            ready = finished(self.prepared.numbers[link.task]) + link.wait
            code = "wait" if link.wait else "after"
            bounds.append((ready, 3, Reason(code, link.task, until=ready)))
        at, _, reason = max(bounds, key=lambda b: (b[0], b[1]))
        return axis.slot(at), reason

    def finished(self, number: int) -> int:
        """When a job finishes or did, as an instant."""
        task = self.problem.tasks[number]
        if task.state == "done":
            return task.finished if task.finished is not None else self.problem.now
        return self.axis.end(self.decoding.finish[number])

    def _here_since(self, van: int, start: int) -> int:
        """When the stay of the van began in which `start` falls."""
        stays = zip(self.prepared.windows[van], self._stays(van), strict=True)
        return max((at for (a, _), at in stays if a <= start), default=self.problem.now)

    def _stays(self, van: int) -> list[int]:
        end = len(self.axis.at)
        here = self.problem.vans[van].here
        return [
            a
            for a, b in here
            if self.axis.slot(a) < (end if b is None else self.axis.slot(b))
            or b is None
            or self.axis.slot(b) == end
        ]

    def _by_hours(self, job: Job, bound: int, start: int, reason: Reason) -> Reason:
        """Nothing but time of day or somebody away lies between the bound and the start."""
        open_slots = self.prepared.shop_before[start] - self.prepared.shop_before[bound]
        if open_slots:
            for k in self.decoding.crew[job.number]:
                if not self.axis.fitters[k] >> (start - 1) & 1:
                    return Reason("person", who=self.problem.fitters[k].id, until=self.axis.at[start])
        if reason.code == "now" and self.axis.at[start] > self.problem.now + self.axis.step:
            return Reason("closed")
        return reason

    def _by_others(self, job: Job, before: int, start: int, would_end: int) -> Reason:
        """What stands in the way of a start at slot `before`, and is over by the start; the last of it.

        Since the start itself was possible, whatever forbids `before` lies in the slots between them.
        """
        found = [
            *self._people_busy(job, before, start),
            *self._place_taken(job, before, start),
            *self._rack_taken(job, start, would_end),
            *self._van_taken(job, before, start),
            *self._bay_taken(job, before, start),
        ]
        if found:
            return max(found, key=lambda f: (f[0], f[1]))[2]
        if job.same_day and self.axis.day[before] != self.axis.day[would_end - 1]:
            return Reason("day")
        return self._bay_promised(job, start)

    def _people_busy(self, job: Job, before: int, start: int) -> list[tuple[int, int, Reason]]:
        rows = []
        for k in self.decoding.crew[job.number]:
            for _, finish, number, _ in self._by_fitter[k].overlapping(before, start, job.number):
                name = self.problem.fitters[k].id
                rows.append((finish, 3, Reason("person", self.prepared.jobs[number].id, who=name)))
        return rows

    def _place_taken(self, job: Job, before: int, start: int) -> list[tuple[int, int, Reason]]:
        if job.room < 0:
            return []
        near = self._by_room[job.room].overlapping(before, start, job.number)
        place = self.problem.tasks[job.number].place
        return self._room_full(near, before, start, job.level, place, 2)

    def _rack_taken(self, job: Job, start: int, would_end: int) -> list[tuple[int, int, Reason]]:
        if not job.rack:
            return []
        dry = [self.axis.end(e) + job.dries for e in (would_end, self.decoding.finish[job.number])]
        since, until = (max(0, self.axis.slot(at + 1) - 1) for at in dry)
        near = self._rack.overlapping(since, until, job.number)
        rows = self._room_full(near, since, until, (self.problem.rack_room or 0) - 1, "drying rack", 1)
        return [(min(finish, start), rank, reason) for finish, rank, reason in rows]

    def _room_full(
        self, near: list[Taken], since: int, until: int, level: int, place: str, rank: int
    ) -> list[tuple[int, int, Reason]]:
        gone = [(f, n) for _, f, n, _ in near if f <= until]
        if not gone or _most(near, since, until) <= level:
            return []
        finish, number = max(gone)
        return [(finish, rank, Reason("place", self.prepared.jobs[number].id, place=place))]

    def _van_taken(self, job: Job, before: int, start: int) -> list[tuple[int, int, Reason]]:
        """Other work on the van: at another position, or claiming it, or in the way of a claim."""
        if not job.needs_van or job.van < 0:
            return []
        rows = []
        move = self.prepared.move_slots
        for a, b, number, _ in self._by_van[job.van].rows:
            other = self.prepared.jobs[number]
            if number == job.number or b > start:
                continue
            if (job.claims or other.claims) and before < b:
                rows.append((b, 1, Reason("van", other.id)))
            elif job.position >= 0 and other.position >= 0 and other.position != job.position:
                kept = self.prepared.after_move(max(b, self.axis.slot(self.axis.end(b) + other.still)))
                if self.prepared.before_move(a) < start and before < kept:
                    rows.append((min(kept, start), 1, Reason("move" if move else "van", other.id)))
        return rows

    def _bay_taken(self, job: Job, before: int, start: int) -> list[tuple[int, int, Reason]]:
        bays = self.decoding.bays
        if not job.bay or bays.count is None or any(a < start for a, _ in self._own_stays(job.van)):
            return []
        near = [
            (a, b, v, 1) for (v, _), (a, b) in bays.stays.items() if v != job.van and a < start and b > before
        ]
        if _most(near, before, start) < bays.count:
            return []
        finish, van = max((min(b, start), v) for _, b, v, _ in near)
        return [(finish, 0, Reason("bay", self.problem.vans[van].id))]

    def _own_stays(self, van: int) -> list[tuple[int, int]]:
        return [stay for (v, _), stay in self.decoding.bays.stays.items() if v == van]

    def _bay_promised(self, job: Job, start: int) -> Reason:
        """A bay that looks free was promised to a van that turned out to need it for less long."""
        others = [
            (b, v) for (v, _), (_, b) in self.decoding.bays.stays.items() if v != job.van and b <= start
        ]
        if job.bay and others:
            return Reason("bay", self.problem.vans[max(others)[1]].id)
        return Reason("now")


class _Rows:
    """Stretches sorted by their start, with the longest known so that a look-up need not read them all."""

    def __init__(self) -> None:
        self.rows: list[Taken] = []
        self._longest = 0

    def add(self, row: Taken) -> None:
        self.rows.append(row)
        self._longest = max(self._longest, row[1] - row[0])

    def overlapping(self, since: int, until: int, but: int) -> list[Taken]:
        """The rows that overlap [since, until), one job left out."""
        first = bisect_left(self.rows, (since - self._longest, 0, 0, 0))
        last = bisect_left(self.rows, (until, 0, 0, 0))
        return [r for r in self.rows[first:last] if r[1] > since and r[2] != but]


def _most(rows: list[Taken], since: int, until: int) -> int:
    """The most that is taken at once within [since, until)."""
    edges = []
    for a, b, _, amount in rows:
        edges += [(max(a, since), amount), (min(b, until), -amount)]
    edges.sort()
    taken = most = 0
    for _, change in edges:
        taken += change
        most = max(most, taken)
    return most
