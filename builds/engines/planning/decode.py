"""The fast planner: places tasks one by one in a given order, each at the earliest it can.

Time is a row of slots and every limit a mask of slots (see `axis`), so that asking whether a crew,
a place and a van are all free from a start to a finish is a few operations on big integers.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from itertools import combinations

from .bays import Bays
from .plan import Unplanned
from .prepare import Crew, Hands, Job, Prepared

TIES_TRIED = 3
"""How many equally early crews are looked at for the one whose trades are wanted least."""


class AxisTooShort(Exception):
    """Work runs past the end of the axis; `prepare.longer` gives a longer one."""


class Decoding:
    """One decoding under way: what is placed so far and what each limit has left.

    `start` and `finish` are slots by job number (-1: not placed; finish is exclusive), `crew` the
    people, `ready` the slot from which the placed predecessors allow a start.
    """

    __slots__ = (
        "apart", "bays", "busy", "claimed", "crew", "finish", "held", "missing", "prepared", "rack", "ready",
        "released", "rooms", "start", "unplanned", "van_end", "van_work", "wanted",
    )  # fmt: skip

    def __init__(self, prepared: Prepared, wanted: Mapping[int, tuple[int, ...]] | None = None) -> None:
        count, vans = len(prepared.jobs), len(prepared.windows)
        self.prepared = prepared
        self.wanted = wanted or {}
        self.start = [-1] * count
        self.finish = [-1] * count
        self.crew: list[tuple[int, ...]] = [()] * count
        self.ready = [j.early for j in prepared.jobs]
        self.missing = [len(j.after) for j in prepared.jobs]
        self.busy = [0] * len(prepared.problem.fitters)
        self.rooms = [[0] * size for size in prepared.rooms]
        self.rack = [0] * (prepared.problem.rack_room or 0)
        self.apart = [[0] * prepared.positions for _ in range(vans)]
        self.claimed = [0] * vans
        self.van_work = [0] * vans
        self.van_end = [0] * vans
        self.bays = Bays(prepared)
        self.held: list[int] = []
        self.released = False
        self.unplanned: dict[int, Unplanned] = {}
        self._begin()

    def copy(self) -> Decoding:
        """A copy that can go on by itself; cheap, since masks are shared."""
        other = Decoding.__new__(Decoding)
        other.prepared, other.wanted, other.released = self.prepared, self.wanted, self.released
        other.start, other.finish, other.crew = self.start[:], self.finish[:], self.crew[:]
        other.ready, other.missing, other.busy = self.ready[:], self.missing[:], self.busy[:]
        other.rooms, other.rack = [r[:] for r in self.rooms], self.rack[:]
        other.apart = [a[:] for a in self.apart]
        other.claimed, other.van_work, other.van_end = self.claimed[:], self.van_work[:], self.van_end[:]
        other.bays, other.held, other.unplanned = self.bays.copy(), self.held[:], self.unplanned.copy()
        return other

    def run(self, order: Sequence[int]) -> None:
        """Place the jobs of `order`; what has to wait for a bay or a predecessor comes as soon as it can."""
        jobs, missing, held, unplanned = self.prepared.jobs, self.missing, self.held, self.unplanned
        for number in order:
            if (missing[number] or not self.place(jobs[number])) and number not in unplanned:
                held.append(number)
            if self.released:
                self._go_through_held()

    def end(self) -> None:
        """Finish the decoding: place what is held, and list what never can be."""
        self._go_through_held()
        for number in self.held:
            job = self.prepared.jobs[number]
            if number not in self.unplanned:
                self._give_up(job, "no room")
        self.held = []

    def place(self, job: Job) -> bool:
        """Place one job whose predecessors are placed; False when it has to wait for a bay (or never can)."""
        if job.hands is None:
            return False
        prepared = self.prepared
        blocked = self._blocked(job)
        ready = self.ready[job.number]
        if not job.needs_van and not job.bay:
            found = self._choose(job, blocked, ready)
            if found:
                self._take(job, -1, *found)
                return True
            return self._none_found(job)
        for window, (since, until) in enumerate(prepared.windows[job.van]):
            first = max(ready, since) if job.needs_van else ready
            if job.bay:
                free = self.bays.earliest(job.van, window)
                if free is None:
                    return False
                first = max(first, free)
            found = self._choose(job, blocked, first)
            if found and (found[1] <= until or not job.needs_van):
                self._take(job, window, *found)
                return True
        return self._none_found(job)

    def _blocked(self, job: Job) -> int:
        """The slots in which the job may not run, whoever does it."""
        blocked = self.rooms[job.room][job.level] if job.room >= 0 else 0
        if job.needs_van:
            van = job.van
            blocked |= self.van_work[van] if job.claims else self.claimed[van]
            if job.position >= 0:
                blocked |= self.apart[van][job.position]
        return blocked

    def _choose(self, job: Job, blocked: int, first: int) -> tuple[int, int, tuple[int, ...]] | None:
        """The crew that finishes earliest from `first` on, with its start and finish.

        A stored crew keeps its task, unless one of them is away for a day or more that others are not.
        """
        people = self.wanted.get(job.number)
        if people is None:
            return self._best(job, blocked, first)
        crew = self.prepared.crew(people)
        for k in people:
            blocked |= self.busy[k]
        kept = self._fit(job, crew, blocked, first)
        if kept and not self._lost_a_day(job, crew, first, kept[0]):
            return (*kept, people)
        best = self._best(job, self._blocked(job), first)
        if kept and (best is None or best[1] + self._day(kept[1]) > kept[1]):
            return (*kept, people)
        return best

    def _day(self, slot: int) -> int:
        """How many slots a day has, about."""
        return 32 * 15 // self.prepared.axis.step

    def _lost_a_day(self, job: Job, crew: Crew, first: int, start: int) -> bool:
        day = self._day(start)
        if start - first < day:
            return False
        open_slots = self.prepared.shop_before[start] - self.prepared.shop_before[first]
        worked = bisect_left(crew.slots, start) - bisect_left(crew.slots, first)
        return open_slots - worked >= day

    def _best(self, job: Job, blocked: int, first: int) -> tuple[int, int, tuple[int, ...]] | None:
        hands = job.hands
        assert hands is not None
        alone: list[tuple[int, int, int, int]] = []
        pressure = 0
        for crew in hands.pool:
            person = crew.people[0]
            found = self._fit(job, crew, blocked | self.busy[person], first)
            if found:
                alone.append((found[1], pressure, person, found[0]))
                pressure += 1
        alone.sort()
        if hands.size == 1:
            for finish, _, person, start in alone:
                if 1 << person in hands.crews:
                    return start, finish, (person,)
            return None
        return self._best_together(job, hands, blocked, first, alone)

    def _best_together(
        self, job: Job, hands: Hands, blocked: int, first: int, alone: list[tuple[int, int, int, int]]
    ) -> tuple[int, int, tuple[int, ...]] | None:
        """Crews in the order of the latest finish any of them has alone: none can beat that bound."""
        best: tuple[int, int, int, tuple[int, ...]] | None = None
        tried = 0
        for last, (bound, rank, person, start) in enumerate(alone):
            if best and (bound > best[0] or tried > TIES_TRIED):
                break
            for others in combinations(alone[:last], hands.size - 1):
                bits = 1 << person
                for other in others:
                    bits |= 1 << other[2]
                people = hands.crews.get(bits)
                if people is None:
                    continue
                crew = self.prepared.crew(people)
                taken = blocked
                for k in people:
                    taken |= self.busy[k]
                found = self._fit(job, crew, taken, max(start, *(o[3] for o in others)))
                if found is None:
                    continue
                new = (found[1], rank + sum(o[1] for o in others), found[0], people)
                if best is None or new < best:
                    best = new
                elif new[0] == best[0]:
                    tried += 1
                if best[0] <= bound:
                    tried += 1
                    if tried > TIES_TRIED:
                        break
        return (best[2], best[0], best[3]) if best else None

    def _fit(self, job: Job, crew: Crew, blocked: int, first: int) -> tuple[int, int] | None:
        """The earliest start and finish of the job by this crew, from `first` on, clear of `blocked`."""
        slots, length = crew.slots, job.slots
        blocked >>= first
        free = 0
        i = bisect_left(slots, first)
        try:
            while True:
                start = slots[i]
                finish = slots[i + length - 1] + 1
                clash = (blocked >> (start - first)) & ((1 << (finish - start)) - 1)
                if clash:
                    free = free or ~blocked & (crew.mask >> first)
                    after = start - first + clash.bit_length()
                    rest = free >> after
                    start = first + after + (rest & -rest).bit_length() - 1
                    if not rest:
                        return None
                    i = bisect_left(slots, start, i)
                elif job.same_day and self.prepared.axis.day[start] != self.prepared.axis.day[finish - 1]:
                    i = bisect_left(slots, self.prepared.day_starts[start], i)
                elif job.extras and not self._extras_free(job, finish):
                    i += 1
                else:
                    return start, finish
        except IndexError:
            return None

    def _extras_free(self, job: Job, finish: int) -> bool:
        """Whether what lasts beyond the work fits too: drying where it is, the rack, the van kept still."""
        axis = self.prepared.axis
        ends = axis.end(finish)
        if job.dries and job.room >= 0:
            until = axis.slot(ends + job.dries)
            if self.rooms[job.room][job.level] & stretch_of(finish, until):
                return False
        if job.rack and self.rack[-1] & stretch_of(*self._on_rack(job, ends)):
            return False
        if job.still and job.position >= 0:
            until = axis.slot(ends + job.still)
            return not self.apart[job.van][job.position] & stretch_of(finish, until)
        return True

    def _on_rack(self, job: Job, ends: int) -> tuple[int, int]:
        """The slots of the rack's room; nights count with the slot before them, to stay on the sure side."""
        axis = self.prepared.axis
        since = max(0, axis.slot(ends + job.dries + 1) - 1)
        return since, axis.slot(ends + job.dries + job.rack)

    def _take(self, job: Job, window: int, start: int, finish: int, people: tuple[int, ...]) -> None:
        """Book the job and let its followers know."""
        number = job.number
        self.start[number], self.finish[number], self.crew[number] = start, finish, people
        stretch = stretch_of(start, finish)
        for k in people:
            self.busy[k] |= stretch
        self._occupy(job, start, finish, stretch)
        self._tell_followers(job, finish)
        self.released = job.bay and self.bays.take(job.van, max(window, 0), start, finish)

    def _occupy(self, job: Job, start: int, finish: int, stretch: int) -> None:
        axis = self.prepared.axis
        ends = axis.end(finish) if job.extras else 0
        if job.room >= 0:
            until = axis.slot(ends + job.dries) if job.dries else finish
            fill(self.rooms[job.room], stretch_of(start, until), job.amount)
        if job.rack:
            fill(self.rack, stretch_of(*self._on_rack(job, ends)), 1)
        if job.van >= 0:
            self._on_van(job, start, finish, stretch)

    def _on_van(self, job: Job, start: int, finish: int, stretch: int) -> None:
        axis, van = self.prepared.axis, job.van
        if finish > self.van_end[van]:
            self.van_end[van] = finish
        if job.needs_van:
            self.van_work[van] |= stretch
            if job.claims:
                self.claimed[van] |= stretch
            if job.position >= 0:
                until = max(finish, axis.slot(axis.end(finish) + job.still)) if job.still else finish
                kept = stretch_of(self.prepared.before_move(start), self.prepared.after_move(until))
                for position, mask in enumerate(self.apart[van]):
                    if position != job.position:
                        self.apart[van][position] = mask | kept

    def _tell_followers(self, job: Job, finish: int) -> None:
        axis, ready, jobs = self.prepared.axis, self.ready, self.prepared.jobs
        for follower in job.followers:
            self.missing[follower] -= 1
            for number, wait in jobs[follower].after:
                if number == job.number:
                    after = axis.slot(axis.at[finish - 1] + axis.step + wait) if wait else finish
                    if after > ready[follower]:
                        ready[follower] = after

    def _none_found(self, job: Job) -> bool:
        """Give up a job whose van leaves too soon; look further ahead for any other."""
        stays, end = self.prepared.windows[job.van] if job.needs_van else [], len(self.prepared.axis.at)
        if job.needs_van and all(until < end for _, until in stays):
            self._give_up(job, "no van")
        elif not self.prepared.at_the_end:
            raise AxisTooShort
        else:
            self._give_up(job, "no time")
        return False

    def _give_up(self, job: Job, code: str, ref: str | None = None) -> None:
        """List a job as never possible, and its followers behind it."""
        spread = [(job, code, ref)]
        while spread:
            one, why, behind = spread.pop()
            if one.number in self.unplanned or one.hands is None or self.start[one.number] >= 0:
                continue
            self.unplanned[one.number] = Unplanned(one.id, why, behind)
            if one.bay:
                self.released |= self.bays.drop(one.van)
            spread += [(self.prepared.jobs[f], "follows", one.id) for f in one.followers]

    def _go_through_held(self) -> None:
        """Place, in their order, the held jobs that can be placed now, until none can."""
        moved = True
        while moved:
            moved = self.released = False
            still: list[int] = []
            for number in self.held:
                if number in self.unplanned:
                    continue
                if self.missing[number] == 0 and self.place(self.prepared.jobs[number]):
                    moved = True
                else:
                    still.append(number)
            self.held[:] = still

    def _begin(self) -> None:
        """Book what is done (drying, keeping still) and what is under way with its crew."""
        problem, jobs = self.prepared.problem, self.prepared.jobs
        under_way = []
        for task, job in zip(problem.tasks, jobs, strict=True):
            if task.state == "done":
                self._tell_done(job, task.finished if task.finished is not None else problem.now)
            elif task.state == "under way" and task.fitters and job.hands is not None:
                under_way.append((task.started or 0, job.number))
        for _, number in sorted(under_way):
            self._go_on(jobs[number])
        self.released = False

    def _tell_done(self, job: Job, finished: int) -> None:
        axis, now = self.prepared.axis, self.prepared.problem.now
        for follower in job.followers:
            self.missing[follower] -= 1
            for number, wait in self.prepared.jobs[follower].after:
                if number == job.number:
                    self.ready[follower] = max(self.ready[follower], axis.slot(max(now, finished + wait)))
        if job.dries and job.room >= 0:
            fill(self.rooms[job.room], stretch_of(0, axis.slot(finished + job.dries)), job.amount)
        if job.rack:
            dry = finished + job.dries
            fill(self.rack, stretch_of(axis.slot(max(now, dry)), axis.slot(dry + job.rack)), 1)
        if job.still and job.position >= 0 and job.van >= 0:
            kept = stretch_of(0, self.prepared.after_move(axis.slot(finished + job.still)))
            for position in range(self.prepared.positions):
                if position != job.position:
                    self.apart[job.van][position] |= kept

    def _go_on(self, job: Job) -> None:
        """Place a job under way: its crew goes on from now, whatever the limits say."""
        task = self.prepared.problem.tasks[job.number]
        numbers = self.prepared.fitter_numbers
        people = tuple(numbers[n] for n in task.fitters if n in numbers)
        if not people:
            return
        blocked = 0
        for k in people:
            blocked |= self.busy[k]
        plain = Job(job.number, job.id, job.van, job.slots, 0, job.hands)
        found = self._fit(plain, self.prepared.crew(people), blocked, 0)
        if found:
            self._take(job, 0, *found, people)
        elif not self.prepared.at_the_end:
            raise AxisTooShort


def stretch_of(since: int, until: int) -> int:
    """The slots from `since` up to `until` as a mask."""
    return ((1 << (until - since)) - 1) << since if until > since else 0


def fill(layers: list[int], stretch: int, amount: int) -> None:
    """Take `amount` of a counted room: layer k holds the slots where more than k of it is taken."""
    for _ in range(amount):
        for k in range(len(layers) - 1, 0, -1):
            layers[k] |= layers[k - 1] & stretch
        layers[0] |= stretch
