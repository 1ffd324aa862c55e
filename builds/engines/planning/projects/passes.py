"""Schedules made in passes: each activity in turn at the first time at which all it uses is free.

Serial schedule generation (R. Kolisch, "Serial and parallel resource-constrained project scheduling
methods revisited", EJOR 90, 1996) and justification (V. Valls, F. Ballestin, S. Quintanilla,
"Justification and RCPSP: a technique that pays", EJOR 165, 2005); read about, written from memory.

The shop's decoder keeps a mask of slots for every unit of a place, which suits places that hold one to four.
Resources here hold up to sixty, so all of a period's free units stand side by side in one integer, each
with a guard bit: one subtraction asks for all resources at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from heapq import heapify, heappop, heappush

from .project import ImpossibleProject, Project, followers, in_order


class Passes:
    """A project made ready for passes forwards and backwards."""

    def __init__(self, project: Project) -> None:
        self.project = project
        self.count = len(project.activities)
        self.lengths = [a.length for a in project.activities]
        self.releases = [a.release for a in project.activities]
        self.before = [sorted(set(a.after)) for a in project.activities]
        self.behind = followers(project)
        self.links = in_order(project)
        self.has_releases = any(self.releases)
        self.longest = max(self.releases, default=0) + sum(self.lengths) + 1
        width = max(project.capacities, default=0).bit_length() + 1
        self._guards = sum(1 << (width * k + width - 1) for k in range(len(project.capacities)))
        self._free = self._guards + sum(c << (width * k) for k, c in enumerate(project.capacities))
        self._uses = [sum(u << (width * k) for k, u in enumerate(a.uses)) for a in project.activities]
        for n, activity in enumerate(project.activities):
            if any(u > c for u, c in zip(activity.uses, project.capacities, strict=True)):
                raise ImpossibleProject(n, "uses more than there is")

    def forwards(self, order: Sequence[int]) -> list[int]:
        """Starts when placed in `order`, each activity behind what it follows and as early as it can."""
        return self._placed(order, self.before, self.releases)

    def backwards(self, order: Sequence[int]) -> list[int]:
        """Time from each activity's finish to the end, when placed in `order` from the end backwards, each as
        late as it can."""
        return self._placed(order, self.behind, [0] * self.count)

    def justified(self, starts: Sequence[int]) -> list[int]:
        """A schedule pushed to its end and back again: it ends no later than before (releases aside)."""
        lengths = self.lengths
        behind_first = self.links[::-1]
        pushed = self.backwards(sorted(behind_first, key=lambda n: -(starts[n] + lengths[n])))
        return self.forwards(sorted(self.links, key=lambda n: -(pushed[n] + lengths[n])))

    def makespan(self, starts: Sequence[int]) -> int:
        return max((s + d for s, d in zip(starts, self.lengths, strict=True)), default=0)

    def in_link_order(self, key: Sequence[float]) -> list[int]:
        """The activities by key, each behind what it follows."""
        return by_key(self.before, self.behind, key)

    def _placed(self, order: Sequence[int], before: list[list[int]], first: list[int]) -> list[int]:
        lengths, uses, guards = self.lengths, self._uses, self._guards
        free = [self._free] * self.longest
        start = [0] * self.count
        for n in order:
            at, length = first[n], lengths[n]
            for p in before[n]:
                ends = start[p] + lengths[p]
                if ends > at:
                    at = ends
            use = uses[n]
            if length and use:
                end = at + length
                k = at
                while k < end:
                    if (free[k] - use) & guards != guards:
                        at = k + 1
                        end = at + length
                    k += 1
                for k in range(at, end):
                    free[k] -= use
            start[n] = at
        return start


def by_key(before: list[list[int]], behind: list[list[int]], key: Sequence[float]) -> list[int]:
    """Numbers by key, each behind those it follows."""
    missing = [len(p) for p in before]
    free = [(key[n], n) for n, count in enumerate(missing) if not count]
    heapify(free)
    found = []
    while free:
        _, n = heappop(free)
        found.append(n)
        for f in behind[n]:
            missing[f] -= 1
            if not missing[f]:
                heappush(free, (key[f], f))
    return found
