"""Bays: a van keeps one from its first bay work to its last, so it is promised one to the end.

While some of a van's bay work is still to be placed, its stay counts as open-ended. A van without a
bay may therefore only take one that stays free for as long as it might need it, and two vans can
never each wait for the other's bay.
"""

from __future__ import annotations

from .prepare import Prepared


class Bays:
    """Who stands in a bay from when to when, in slots; full slots as a mask."""

    __slots__ = ("count", "end", "full", "left", "stays", "windows")

    def __init__(self, prepared: Prepared) -> None:
        self.count = prepared.problem.bays
        self.end = len(prepared.axis.at)
        self.windows = prepared.windows
        self.full = 0
        self.left = [0] * len(prepared.windows)
        self.stays: dict[tuple[int, int], tuple[int, int]] = {}
        for job in prepared.jobs:
            if job.bay and job.hands is not None:
                self.left[job.van] += 1
        for number, van in enumerate(prepared.problem.vans):
            if van.in_bay and self.left[number]:
                self.stays[number, 0] = (0, 0)
        self._count()

    def copy(self) -> Bays:
        """A copy that can be changed on its own."""
        other = Bays.__new__(Bays)
        other.count, other.end, other.windows, other.full = self.count, self.end, self.windows, self.full
        other.left, other.stays = self.left[:], self.stays.copy()
        return other

    def earliest(self, van: int, window: int) -> int | None:
        """The first slot at which the van's bay work may start in this stay; None: no bay to promise yet."""
        stay = self.stays.get((van, window))
        if stay is not None:
            return (self.full & ((1 << stay[0]) - 1)).bit_length()
        end = self.windows[van][window][1]
        first = (self.full & ((1 << end) - 1)).bit_length()
        return first if first < end else None

    def take(self, van: int, window: int, start: int, finish: int) -> bool:
        """Place one bay job; tells whether the van's bay came free by it."""
        first, last = self.stays.get((van, window), (start, finish))
        new = (min(first, start), max(last, finish))
        changed = new[0] != first or (van, window) not in self.stays
        self.stays[van, window] = new
        return self.drop(van, changed)

    def drop(self, van: int, changed: bool = False) -> bool:
        """One bay job of the van less to place; tells whether its bay came free by it."""
        self.left[van] -= 1
        freed = self.left[van] == 0
        if changed or freed:
            self._count()
        return freed

    def _count(self) -> None:
        """Work out where all bays are taken, stays of vans with work left running on."""
        if self.count is None:
            return
        edges: list[tuple[int, int]] = []
        for (van, window), (first, last) in self.stays.items():
            edges.append((first, 1))
            edges.append((self.windows[van][window][1] if self.left[van] else last, -1))
        edges.sort()
        taken, since, full = 0, 0, 0
        for slot, change in edges:
            if taken >= self.count and slot > since:
                full |= ((1 << (slot - since)) - 1) << since
            taken += change
            since = slot
        self.full = full
