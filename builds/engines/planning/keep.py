"""A plan that keeps what was told: work stays when and with whom it was, and only what must moves.

Everything that still can stands where it was told; the rest is put in around it. Then, try by try,
some work of a late van is taken out with some that can wait, and put in again by how soon it is due;
a try is kept when the plan is worth no less. What it disturbs counts beside what is late.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass, replace
from heapq import heappop, heappush
from random import Random

from .planner import Decoded, decode_stored, jobs_to_place, late_days, wanted_crews
from .prepare import Job, prepare
from .problem import Problem
from .rules import RULES, in_link_order, latest_starts
from .schedule import Schedule
from .search import Watch

Told = Mapping[str, tuple[int, tuple[str, ...]]]
"""What was told: start instant and crew by task."""

A_DAY = 1440
TWO_DAYS = 66
"""Slots of two days, about: how much of the next van's bay work is put off at a time."""

MOST_PUSHED = 12
EASY_SHARE = 0.08
"""Up to this share of tasks moved, and of crews changed, a disturbance counts little."""

LITTLE, MUCH = 15.0, 400.0
"""What a share of 1 moved or changed weighs, in late days: below and above the easy share."""


@dataclass(frozen=True, slots=True)
class Ways:
    """How jobs are put in: how much sooner (slots) another crew must be to get the job, how long a job
    waits before it takes the crew from less urgent work, and how many jobs may be put in at most."""

    gain: int
    patience: int
    most: int


@dataclass(slots=True)
class State:
    """A schedule with the jobs that stand a day or more from where they were told, or change hands."""

    schedule: Schedule
    moved: set[int]
    changed: set[int]


class Keeper:
    """A search for the plan that keeps most of what was told."""

    def __init__(self, problem: Problem, told: Told, watch: Watch, random: Random) -> None:
        self._prepared = prepare(problem)
        self._watch, self._random = watch, random
        self._told = {
            self._prepared.numbers[i]: s for i, (s, _) in told.items() if i in self._prepared.numbers
        }
        self._hands = wanted_crews(self._prepared, {i: c for i, (_, c) in told.items()})
        axis = self._prepared.axis
        self._slots = {n: axis.slot(at) for n, at in self._told.items()}
        links = in_link_order(self._prepared, range(len(self._prepared.jobs)))
        self._key = latest_starts(self._prepared, links, RULES[0])
        self._todo = jobs_to_place(self._prepared)
        self._may_move = frozenset(self._todo)

    def best(self) -> Decoded | None:
        """Search until the time is up; None where what was told can't be mended (a decoding will do)."""
        now = self._mended()
        if now is None:
            return None
        worth = self._worth(now)
        while not self._watch.is_over():
            self._watch.tries += 1
            new = State(now.schedule.copy(), set(now.moved), set(now.changed))
            if not self._disturb(new):
                continue
            found = self._worth(new)
            if found <= worth and new.schedule.bays_hold():
                if found < worth:
                    self._watch.tell(late_days(new.schedule))
                now, worth = new, found
        return self._decoded(now.schedule)

    def _worth(self, state: State) -> float:
        count = max(1, len(self._told))
        total = late_days(state.schedule) + 1e-6 * sum(state.schedule.van_end)
        for few in (state.moved, state.changed):
            share = len(few) / count
            total += LITTLE * share + MUCH * max(0.0, share - EASY_SHARE)
        return total

    def _mended(self) -> State | None:
        """What was told, with only that put elsewhere which can't stay."""
        state = State(Schedule(self._prepared), set(), set())
        schedule, jobs = state.schedule, self._prepared.jobs
        out = []
        for number in sorted(self._todo, key=lambda n: (self._slots.get(n, 0), self._key[n], n)):
            if not self._stays(schedule, number):
                out.append(number)
        if not schedule.bays_hold():
            return None
        for number in self._todo:
            if schedule.start[number] >= 0 and schedule.start[number] < schedule.earliest(jobs[number]):
                schedule.take_out(number)
                out.append(number)
        return (
            state
            if self._put_in(state, out, set(), Ways(16, 33, 8 * len(self._todo))) and schedule.bays_hold()
            else None
        )

    def _stays(self, schedule: Schedule, number: int) -> bool:
        """Put a job where it was told, if it still can be there."""
        people, start = self._hands.get(number), self._slots.get(number)
        job = self._prepared.jobs[number]
        if people is None or start is None or start >= len(self._prepared.axis.at):
            return False
        slots = self._prepared.crew(people).slots
        first = bisect_left(slots, start)
        last = first + job.slots - 1
        if last >= len(slots) or slots[first] != start:
            return False
        return schedule.put_at(job, start, slots[last] + 1, people)

    def _disturb(self, state: State) -> bool:
        """Take out some work of one van and some that can wait, and put it in again."""
        random, schedule = self._random, state.schedule
        van = self._a_van(schedule)
        mine = [n for n in self._todo if self._prepared.jobs[n].van == van and schedule.start[n] >= 0]
        if not mine:
            return False
        since = schedule.start[random.choice(mine)]
        width = random.choice((40, 100, 250, 600, 1 << 30))
        out = {n for n in mine if since <= schedule.start[n] < since + width}
        share = random.choice((0.0, 0.05, 0.1, 0.2, 0.4))
        near = since + min(width, random.choice((40, 100, 250)))
        others = [
            n
            for n in self._todo
            if since - 40 <= schedule.start[n] < near and n not in out and random.random() < share
        ]
        hurried = set(out)
        out.update(n for n in others if self._key[n] > schedule.start[n] + 60)
        for number in out:
            schedule.take_out(number)
        ways = Ways(random.choice((2, 8, 16, 33)), random.choice((8, 33, 66, 1 << 30)), 3 * len(out) + 100)
        return self._put_in(state, list(out), hurried, ways)

    def _a_van(self, schedule: Schedule) -> int:
        """A van to help: most often a late one."""
        late = [
            v
            for v, (due, end) in enumerate(zip(self._prepared.due, schedule.van_end, strict=True))
            if due is not None and end > due
        ]
        if late and self._random.random() < 0.85:
            return self._random.choice(late)
        return self._random.randrange(len(self._prepared.windows))

    def _put_in(self, state: State, out: list[int], hurried: set[int], ways: Ways) -> bool:
        """Put jobs in by how soon they are due, and take out and in again what they push; False: no room."""
        schedule, jobs = state.schedule, self._prepared.jobs
        heap = [(self._key[n], n) for n in out]
        heap.sort()
        waiting = set(out)
        left = ways.most
        while heap:
            _, number = heappop(heap)
            waiting.discard(number)
            job = jobs[number]
            early = self._slots.get(number, 0) - (30 if number in hurried else 0)
            first = max(schedule.earliest(job), early)
            left -= 1
            if left < 0:
                return False
            pushed = self._find_room(schedule, job, first, ways)
            if pushed is None:
                return False
            self._note(state, number)
            pushed += [f for f in job.followers if self._is_pushed(schedule, f)]
            for other in pushed:
                if other not in waiting:
                    if schedule.start[other] >= 0:
                        schedule.take_out(other)
                    waiting.add(other)
                    heappush(heap, (self._key[other], other))
        schedule.tidy()
        return True

    def _is_pushed(self, schedule: Schedule, number: int) -> bool:
        start = schedule.start[number]
        return (
            start >= 0 and number in self._may_move and start < schedule.earliest(self._prepared.jobs[number])
        )

    def _find_room(self, schedule: Schedule, job: Job, first: int, ways: Ways) -> list[int] | None:
        """Put a job in; what had to be taken out for it comes back, or None where nothing helps."""
        people = self._hands.get(job.number)
        done = schedule.put(job, first, people, ways.gain)
        if done and schedule.start[job.number] <= first + ways.patience:
            return []
        if done:
            schedule.take_out(job.number)
        people, out = self._least_urgent(schedule, job, first, people)
        for again in range(MOST_PUSHED):
            for number in out if again == 0 else []:
                schedule.take_out(number)
            if schedule.put(job, first, people, ways.gain):
                return out
            schedule.tidy()
            more = self._first_in_next_bay(schedule, job)
            for number in more:
                schedule.take_out(number)
            if not more:
                return None
            out += more
        return None

    def _least_urgent(
        self, schedule: Schedule, job: Job, first: int, told: tuple[int, ...] | None
    ) -> tuple[tuple[int, ...] | None, list[int]]:
        """The crew that could take the job up at once by leaving work that can better wait, and that work.

        The crew that was told comes first; nothing is taken from anybody where no crew can.
        """
        hands = job.hands
        assert hands is not None
        key, own = self._key, self._key[job.number] - first + 20
        until = first + job.slots
        near = [
            n
            for n in self._todo
            if 0 <= schedule.start[n] < until and schedule.finish[n] > first and n != job.number
        ]
        in_way = [n for n in near if self._in_the_way(job, n)]
        if any(key[n] - schedule.start[n] <= own and key[n] <= key[job.number] for n in in_way):
            return told, []
        best: tuple[int, tuple[int, ...], list[int]] | None = None
        for people in [told] if told else []:
            best = self._left_by(schedule, people, near, first, until, own)
        for people in hands.crews.values() if best is None else []:
            found = self._left_by(schedule, people, near, first, until, own)
            if found and (best is None or found[0] < best[0]):
                best = found
        if best is None:
            return told, []
        return best[1], list(dict.fromkeys([*in_way, *best[2]]))

    def _in_the_way(self, job: Job, number: int) -> bool:
        """Whether another job keeps this one from its place or its van while it lasts."""
        other = self._prepared.jobs[number]
        together = other.van == job.van and other.needs_van and job.needs_van
        if together and (other.position != job.position or other.claims or job.claims):
            return True
        return job.room >= 0 and other.room == job.room

    def _left_by(
        self, schedule: Schedule, people: tuple[int, ...], near: list[int], first: int, until: int, own: float
    ) -> tuple[int, tuple[int, ...], list[int]] | None:
        """What a crew would leave for a job from `first` on; None if they are away or it is as urgent."""
        worked = self._prepared.crew(people).mask >> first & ((1 << (until - first)) - 1)
        if worked.bit_count() * 2 < until - first:
            return None
        left = [n for n in near if not set(people).isdisjoint(schedule.crew[n])]
        if any(self._key[n] - schedule.start[n] <= own for n in left):
            return None
        return len(left), people, left

    def _first_in_next_bay(self, schedule: Schedule, job: Job) -> list[int]:
        """The first bay work of the van that would come into the bay too soon."""
        schedule.tidy()
        van = schedule.next_in_the_bay(job)
        if van is None:
            return []
        jobs = self._prepared.jobs
        bay = [n for n in schedule.by_van[van] if jobs[n].bay and schedule.start[n] >= 0]
        since = min(schedule.start[n] for n in bay)
        return [n for n in bay if schedule.start[n] < since + TWO_DAYS and n in self._may_move]

    def _note(self, state: State, number: int) -> None:
        """Keep count of what was moved and what changed hands."""
        told = self._told.get(number)
        if told is None:
            return
        away = abs(self._prepared.axis.at[state.schedule.start[number]] - told) >= A_DAY
        (state.moved.add if away else state.moved.discard)(number)
        same = set(state.schedule.crew[number]) == set(self._hands.get(number, ()))
        (state.changed.discard if same else state.changed.add)(number)

    def _decoded(self, schedule: Schedule) -> Decoded:
        """The schedule as an order, crews and holds that decode to it."""
        prepared = self._prepared
        problem, axis = prepared.problem, prepared.axis
        order = in_link_order(prepared, sorted(self._todo, key=lambda n: (schedule.start[n], self._key[n])))
        names = {n: tuple(problem.fitters[k].id for k in schedule.crew[n]) for n in self._todo}
        held = replace(problem, holds={prepared.jobs[n].id: axis.at[schedule.start[n]] for n in self._todo})
        crews = {prepared.jobs[n].id: who for n, who in names.items()}
        return decode_stored(prepare(held), [prepared.jobs[n].id for n in order], crews)
