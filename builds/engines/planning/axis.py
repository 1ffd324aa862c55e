"""The working-time axis: every 15-minute slot in which anybody works, numbered from `now` on.

Whatever happens starts and ends at a slot, so the planner counts slots and only waits and drying
look at the clock. A set of slots is one big integer with a bit a slot: taking two people's time
together, or asking whether a stretch is free, is then one machine-speed operation.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from .calendar import Stretch, day_at, open_stretches, work_stretches
from .problem import Fitter, Opening


@dataclass(frozen=True, slots=True)
class Axis:
    """Slots by number: when each starts, its local day (counted), and who works in it.

    `at` are instants, `day` the number of the local day, `shop` and `fitters` masks of slots.
    """

    step: int
    at: list[int]
    day: list[int]
    shop: int
    fitters: tuple[int, ...]

    def slot(self, instant: int) -> int:
        """The first slot that starts at or after an instant (the length of the axis past its end)."""
        return bisect_left(self.at, instant)

    def end(self, slot: int) -> int:
        """The instant at which the slot before `slot` ends: when work up to `slot` finishes."""
        return self.at[slot - 1] + self.step


def lay_axis(opening: Opening, fitters: tuple[Fitter, ...], now: int, until: int) -> Axis:
    """The axis from `now` to the end of the day of `until` (instants)."""
    step = opening.slot_minutes
    first, last = day_at(now, opening.zone), day_at(until, opening.zone)
    days = [first + timedelta(days=k) for k in range((last - first).days + 1)]
    shop: list[int] = []
    own: list[list[int]] = [[] for _ in fitters]
    day_number: dict[int, int] = {}
    usual = [f.days is None and not f.hours and not f.booked for f in fitters]
    for number, day in enumerate(days):
        slots = [s for a, b in open_stretches(opening, day) for s in range(a, b - step + 1, step) if s >= now]
        shop += slots
        day_number.update(dict.fromkeys(slots, number))
        for mine, plain, fitter in zip(own, usual, fitters, strict=True):
            if plain:
                mine += slots
                continue
            theirs = _own_slots(work_stretches(opening, fitter, day), slots, step, now)
            mine += theirs
            day_number.update(dict.fromkeys(_present(theirs, fitter, step).tolist(), number))
    at = sorted(day_number)
    masks = tuple(_mask(at, _present(mine, f, step)) for mine, f in zip(own, fitters, strict=True))
    return Axis(step, at, [day_number[s] for s in at], _mask(at, shop), masks)


def slots_in(mask: int, length: int) -> list[int]:
    """The numbers of the slots in a mask, in order."""
    if not mask:
        return []
    raw = np.frombuffer(mask.to_bytes((length + 7) // 8, "little"), dtype=np.uint8)
    found: list[int] = np.flatnonzero(np.unpackbits(raw, bitorder="little")).tolist()
    return found


def _own_slots(worked: tuple[Stretch, ...], shop: list[int], step: int, now: int) -> list[int]:
    """A fitter's slots of one day, on the shop's grid: a slot that would straddle two of its is left out."""
    origin = shop[0] % step if shop else 0
    found = []
    for a, b in worked:
        first = a + (origin - a) % step
        found += [s for s in range(first, b - step + 1, step) if s >= now]
    known = set(shop)
    return [s for s in found if s in known or not any(s < t + step and t < s + step for t in shop)]


def _present(slots: list[int], fitter: Fitter, step: int) -> NDArray[np.int64]:
    """A fitter's slots less those that touch an absence."""
    kept = np.array(slots, dtype=np.int64)
    for since, until in fitter.away:
        kept = kept[(kept + step <= since) | (kept >= until)]
    return kept


def _mask(at: list[int], slots: list[int] | NDArray[np.int64]) -> int:
    bits = np.isin(np.array(at, dtype=np.int64), np.asarray(slots, dtype=np.int64))
    return int.from_bytes(np.packbits(bits, bitorder="little").tobytes(), "little")
