"""A whole plan in slots in which single jobs can be taken out and put in again elsewhere."""

from __future__ import annotations

from collections.abc import Sequence

from .decode import Decoding, stretch_of
from .prepare import Job, Prepared


class Schedule(Decoding):
    """A decoding whose jobs can be taken out again.

    Bays count as they are used here, from the first bay work placed to the last, so that jobs can be
    put in in any order. What is done or under way is never taken out.
    """

    __slots__ = ("by_van", "dates", "dirty", "stays")

    def __init__(self, prepared: Prepared) -> None:
        super().__init__(prepared)
        self.dates = self.ready[:]
        self.by_van: list[list[int]] = [[] for _ in prepared.windows]
        self.dirty: set[int] = set()
        self.stays: dict[tuple[int, int], tuple[int, int]] = {}
        for job in prepared.jobs:
            if job.van >= 0:
                self.by_van[job.van].append(job.number)
        self.dirty = set(range(len(prepared.windows)))
        self.tidy()

    def copy(self) -> Schedule:
        """A copy that can be changed on its own."""
        other = super().copy()
        other.__class__ = Schedule
        assert isinstance(other, Schedule)
        other.dates, other.by_van = self.dates, self.by_van
        other.dirty, other.stays = self.dirty.copy(), self.stays.copy()
        return other

    def earliest(self, job: Job) -> int:
        """The first slot that dates and the predecessors now placed allow."""
        first, axis = self.dates[job.number], self.prepared.axis
        for before, wait in job.after:
            finish = self.finish[before]
            if finish >= 0:
                after = axis.slot(axis.end(finish) + wait) if wait else finish
                if after > first:
                    first = after
        return first

    def put(self, job: Job, first: int, people: tuple[int, ...] | None, gain: int) -> bool:
        """Put a job in from `first` on; `people` keep it unless another crew is done `gain` slots sooner."""
        self.tidy()
        blocked = self._blocked(job)
        stays = (
            enumerate(self.prepared.windows[job.van]) if job.needs_van or job.bay else [(-1, (0, 1 << 60))]
        )
        for window, (since, until) in stays:
            taken, begin = blocked, max(first, since) if job.needs_van else first
            if job.bay:
                full, begin = self._bay_limits(job.van, window, begin)
                taken |= full
            found = self._hands(job, taken, begin, people, gain)
            if found and (found[1] <= until or not job.needs_van):
                self._book(job, *found)
                return True
        return False

    def put_at(self, job: Job, start: int, finish: int, people: tuple[int, ...]) -> bool:
        """Put a job exactly there, if its people, its place and its van are free."""
        self.tidy()
        blocked = self._blocked(job)
        for k in people:
            blocked |= self.busy[k]
        if start < self.dates[job.number]:
            return False
        if self._fit(job, self.prepared.crew(people), blocked, start) != (start, finish):
            return False
        self._book(job, start, finish, people)
        return True

    def take_out(self, number: int) -> None:
        """Free what a job takes."""
        job, start, finish = self.prepared.jobs[number], self.start[number], self.finish[number]
        kept = ~stretch_of(start, finish)
        for k in self.crew[number]:
            self.busy[k] &= kept
        axis = self.prepared.axis
        ends = axis.end(finish)
        if job.room >= 0:
            until = axis.slot(ends + job.dries) if job.dries else finish
            _empty(self.rooms[job.room], stretch_of(start, until), job.amount)
        if job.rack:
            _empty(self.rack, stretch_of(*self._on_rack(job, ends)), 1)
        self.start[number] = self.finish[number] = -1
        self.crew[number] = ()
        if job.van >= 0:
            self.dirty.add(job.van)

    def bays_hold(self) -> bool:
        """Whether the vans never need more bays than there are."""
        if self.bays.count is None:
            return True
        edges = [e for stay in self.stays.values() for e in ((stay[0], 1), (stay[1], -1))]
        edges.sort()
        taken = 0
        for _, change in edges:
            taken += change
            if taken > self.bays.count:
                return False
        return True

    def next_in_the_bay(self, job: Job) -> int | None:
        """The van whose coming takes the bay that the job's van would have to keep longer."""
        if not job.bay or self.bays.count is None:
            return None
        mine = [last for (v, _), (_, last) in self.stays.items() if v == job.van]
        full = _full([stay for (v, _), stay in self.stays.items() if v != job.van], self.bays.count)
        behind = full >> max(mine, default=0)
        if not behind:
            return None
        at = max(mine, default=0) + (behind & -behind).bit_length() - 1
        return next((v for (v, _), (first, _) in sorted(self.stays.items()) if first == at), None)

    def _hands(
        self, job: Job, blocked: int, first: int, people: tuple[int, ...] | None, gain: int
    ) -> tuple[int, int, tuple[int, ...]] | None:
        if people is None:
            return self._best(job, blocked, first)
        taken = blocked
        for k in people:
            taken |= self.busy[k]
        kept = self._fit(job, self.prepared.crew(people), taken, first)
        if kept and kept[1] <= first + job.slots + gain // 2:
            return (*kept, people)
        best = self._best(job, blocked, first)
        if kept and (best is None or kept[1] <= best[1] + gain):
            return (*kept, people)
        return best

    def _book(self, job: Job, start: int, finish: int, people: tuple[int, ...]) -> None:
        number, stretch = job.number, stretch_of(start, finish)
        self.start[number], self.finish[number], self.crew[number] = start, finish, people
        for k in people:
            self.busy[k] |= stretch
        self._occupy(job, start, finish, stretch)
        if job.bay:
            self._stay_on(job, start, finish)

    def tidy(self) -> None:
        """Work out again what is taken of the vans that jobs were taken out of."""
        for van in self.dirty:
            self._redo_van(van)
        self.dirty = set()

    def _redo_van(self, van: int) -> None:
        self.van_end[van] = self.van_work[van] = self.claimed[van] = 0
        self.apart[van] = [0] * self.prepared.positions
        for window in range(len(self.prepared.windows[van])):
            self.stays.pop((van, window), None)
        for number in self.by_van[van]:
            start, finish = self.start[number], self.finish[number]
            if start >= 0:
                job = self.prepared.jobs[number]
                self._on_van(job, start, finish, stretch_of(start, finish))
                if job.bay:
                    self._stay_on(job, start, finish)

    def _stay_on(self, job: Job, start: int, finish: int) -> None:
        """Let the van's stay in a bay reach over a job."""
        windows = self.prepared.windows[job.van]
        window = max((w for w, (since, _) in enumerate(windows) if since <= start), default=0)
        first, last = self.stays.get((job.van, window), (start, finish))
        if window == 0 and self.prepared.problem.vans[job.van].in_bay:
            first = 0
        self.stays[job.van, window] = (min(first, start), max(last, finish))

    def _bay_limits(self, van: int, window: int, first: int) -> tuple[int, int]:
        """Slots where the van can't have a bay, as a mask, and the first slot from which it can keep one."""
        if self.bays.count is None:
            return 0, first
        full = _full([stay for (v, _), stay in self.stays.items() if v != van], self.bays.count)
        stay = self.stays.get((van, window))
        if stay is None:
            return full, first
        before = full & ((1 << stay[0]) - 1)
        behind = full >> stay[1]
        if behind:
            end = stay[1] + (behind & -behind).bit_length() - 1
            full |= -1 << end
        return full, max(first, before.bit_length())


def _full(stays: Sequence[tuple[int, int]], count: int) -> int:
    """Where at least `count` stays overlap."""
    edges = sorted([(first, 1) for first, _ in stays] + [(last, -1) for _, last in stays])
    full, taken, since = 0, 0, 0
    for slot, change in edges:
        if taken >= count and slot > since:
            full |= stretch_of(since, slot)
        taken, since = taken + change, slot
    return full


def _empty(layers: list[int], stretch: int, amount: int) -> None:
    """Give back `amount` of a counted room."""
    kept = ~stretch
    for k in range(len(layers)):
        more = layers[k + amount] & stretch if k + amount < len(layers) else 0
        layers[k] = layers[k] & kept | more
