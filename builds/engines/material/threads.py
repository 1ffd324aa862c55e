"""Threads of gas and water fittings, and which of those that meet do not match.

Pipe threads: ISO 228-1, major diameter and threads an inch as copied from it; the rest follows from the
55° profile (H = 0.960491 P, depth 0.640327 P). Metric threads are named by diameter and pitch. Nothing here
says that a joint is tight: gas fittings are for the gas engineer.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

INCH_MM = 25.4
DEPTH = 0.640327


@dataclass(frozen=True, slots=True)
class Thread:
    """A size of thread. Diameters and pitch in millimetres."""

    key: str
    name: str
    major_mm: float
    pitch_mm: float

    @property
    def minor_mm(self) -> float:
        """Diameter at the root of a pipe thread."""
        return self.major_mm - 2 * DEPTH * self.pitch_mm


def _pipe(size: str, major_mm: float, an_inch: int) -> Thread:
    return Thread(f"g{size.replace('/', '-')}", f"G {size}", major_mm, INCH_MM / an_inch)


def _metric(diameter: int, pitch: str) -> Thread:
    return Thread(f"m{diameter}x{pitch}", f"M{diameter} x {pitch}", diameter, float(pitch))


THREADS = (
    _pipe("1/8", 9.728, 28),
    _pipe("1/4", 13.157, 19),
    _pipe("3/8", 16.662, 19),
    _pipe("1/2", 20.955, 14),
    _pipe("3/4", 26.441, 14),
    _pipe("1", 33.249, 11),
    _metric(10, "1"),
    _metric(14, "1.5"),
    _metric(16, "1.5"),
    _metric(20, "1.5"),
)
BY_KEY = {thread.key: thread for thread in THREADS}
NEAR_MM = 1.0


def mismatch(keys: Iterable[str]) -> str:
    """In words, why threads that meet don't match; "" for one size. Raises KeyError for no thread."""
    found = sorted({BY_KEY[key] for key in keys}, key=lambda thread: (thread.major_mm, thread.key))
    if len(found) < 2:
        return ""
    sizes = ", ".join(f"{t.name} ({t.major_mm:g} mm, pitch {t.pitch_mm:.3g} mm)" for t in found)
    near = any(b.major_mm - a.major_mm < NEAR_MM for a, b in pairwise(found))
    return sizes + (": near enough to start by hand and not to hold" if near else "")
