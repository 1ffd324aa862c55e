"""The small shapes: one drawing a meaning, on a 16 by 16 field, in the colour of the text around it.

Ours, after what is on a workshop's paper: a box to tick, a tick that leaves its box, a box struck
through, a pennant, a gate, sand in a glass. Each can be told from the others without colour.
"""

from __future__ import annotations


def _solid(path: str) -> str:
    return f'<path d="{path}" fill="currentColor" fill-rule="evenodd"/>'


def _line(path: str, width: float = 1.6) -> str:
    return f'<path d="{path}" fill="none" stroke="currentColor" stroke-width="{width}"/>'


def _ring(x: float, y: float, r: float) -> str:
    """A circle as a path, so that a second one inside it becomes a hole."""
    return f"M{x - r:g} {y:g}a{r:g} {r:g} 0 1 0 {2 * r:g} 0a{r:g} {r:g} 0 1 0-{2 * r:g} 0z"


_BOX = _line("M2.5 2.5h11v11h-11z", 1.8)

SHAPES: dict[str, str] = {
    # states of a task
    "to do": _BOX,
    "under way": _BOX + _solid("M3 13V3l10 10z"),
    "done": _line("M13.5 8.5v5h-11v-11h7", 1.8) + _line("M5.2 7.2 8 10.4 14.8 1.8", 2.2),
    "stopped": _solid("M1.5 1.5h13v5h-13zM1.5 9.5h13v5h-13z"),
    "waiting": _solid("M3 1.5h10v1.6L8.9 8l4.1 4.9v1.6H3v-1.6L7.1 8 3 3.1z"),
    "ready": _solid("M3.5 1.5 14 8 3.5 14.5z"),
    # the three signals
    "late": _solid("M2.5 1h2v14h-2zM5.5 1.5 15 5.3 5.5 9.2z"),
    "care": _solid("M8 .8 15.2 8 8 15.2.8 8zM7 4.4v4.4h2V4.4zM7 10v2h2v-2z"),
    "good": _solid(_ring(8, 8, 7) + "M3.9 8.4 5.3 7.1l1.6 1.8 3.7-4 1.5 1.3L7 11.8z"),
    # hold points, pins, what comes and goes
    "hold": _solid("M2 1.5h2.4v5.2h7.2V1.5H14v13h-2.4V9.3H4.4v5.2H2z"),
    "passed": _solid("M1.5 1.5h2.2v13H1.5zM12.3 8.5h2.2v6h-2.2z") + _line("M5.4 6.8 8.2 9.8 14.6 2", 2),
    "pin": _solid(_ring(8, 5, 4) + "M7.2 8.5h1.6L8 15.5z"),
    "told": _line("M3 1.5h6.5L13 5v9.5H3z") + _line("M9 1.5V6h4M5.3 8.5h5.4M5.3 11.3h5.4", 1.4),
    "delivery": _line("M2 4.5h12v9.5H2z") + _line("M2 4.5 4.2 1.8h7.6L14 4.5M6.5 4.5V9h3V4.5"),
    "visit": _solid(_ring(8, 4.4, 3.2) + "M1.8 15c0-4 2.6-6.2 6.2-6.2s6.2 2.2 6.2 6.2z"),
    "snag": _line("M3 3l10 10M13 3 3 13", 2.4),
    "van": _line("M.8 12.4V3.6h9.4c2 0 3.6 3 5 5.2v3.6z")
    + _solid(_ring(4.2, 12.6, 1.9) + _ring(11.8, 12.6, 1.9)),
    # notices
    "info": _solid("M6.8 6.2h2.4v8.3H6.8zM6.8 1.5h2.4v2.6H6.8z"),
    "caution": _line("M8 1.6 15 14.3H1z", 1.7) + _solid("M7.1 5.8h1.8v4.4H7.1zM7.1 11.2h1.8v1.7H7.1z"),
    # things to press
    "photo": _line("M1.2 3.5h13.6v9.8H1.2z") + _line("m2 12 4-4.5 2.8 3 2-2 3.4 3.7", 1.4),
    "note": _line("M2 3h12M2 6.4h12M2 9.8h12M2 13.2h7"),
    "add": _line("M8 2v12M2 8h12", 2.2),
    "next": _line("m5.5 2.5 5.5 5.5-5.5 5.5", 2.2),
    "back": _line("M10.5 2.5 5 8l5.5 5.5", 2.2),
    "lift": _solid("M4 2h2.4v2.4H4zM9.6 2H12v2.4H9.6zM4 6.8h2.4v2.4H4zM9.6 6.8H12v2.4H9.6z")
    + _solid("M4 11.6h2.4V14H4zM9.6 11.6H12V14H9.6z"),
}

TONES: dict[str, tuple[str, str]] = {
    "to do": ("to do", "soft"),
    "under way": ("under way", "work"),
    "done": ("done", "good"),
    "stopped": ("stopped", "late"),
    "waiting": ("waiting", "soft"),
    "ready": ("ready", "work"),
    "late": ("late", "late"),
    "at risk": ("care", "care"),
    "needs you": ("care", "care"),
    "good": ("good", "good"),
    "on time": ("good", "good"),
    "hold point": ("hold", "care"),
    "passed": ("passed", "good"),
    "failed": ("snag", "late"),
    "snag": ("snag", "care"),
    "pinned": ("pin", "work"),
    "told": ("told", "work"),
    "delivery": ("delivery", "soft"),
    "visit": ("visit", "soft"),
}
"""What each word of state looks like: the shape, and the tone of the text."""
