"""What a unit, an installation or a van measures, for rules that reckon material by it.

Lengths are millimetres on the way in; areas come out in square metres and runs in metres.
"""

from __future__ import annotations

from collections.abc import Mapping

DOORS_AND_OPENINGS = 0.15
"""The share of the walls that is openings and so takes no panel. Common practice, no source."""

AROUND_A_SINK_M = 1.6
"""Once round a sink of about 420 x 380 mm. Common practice, no source."""


def unit_measures(
    width_mm: float, depth_mm: float, height_mm: float, *, board_share: float, coated_faces: int
) -> Mapping[str, float]:
    """The measures of a piece of furniture.

    "each" is 1; "board_m2" the board in it, its outer box times the kind's share; "coated_m2" what is
    coated of that board; "run_m" its width; "front_m2" its front; "top_m2" its plan; "bead_m" a bead
    along its back and round a sink in its top; "joint_m" the joints of a cubicle: its corners and
    round its floor.
    """
    box = 2 * (width_mm * depth_mm + width_mm * height_mm + depth_mm * height_mm) / 1e6
    board = box * board_share
    return {
        "each": 1.0,
        "board_m2": board,
        "coated_m2": board * coated_faces,
        "run_m": width_mm / 1000,
        "front_m2": width_mm * height_mm / 1e6,
        "top_m2": width_mm * depth_mm / 1e6,
        "bead_m": width_mm / 1000 + AROUND_A_SINK_M,
        "joint_m": (4 * height_mm + 2 * (width_mm + depth_mm)) / 1000,
    }


def van_measures(length_mm: float, width_mm: float, height_mm: float) -> Mapping[str, float]:
    """The measures of a van's load space: floor, ceiling, walls and what runs along or around it."""
    floor = length_mm * width_mm / 1e6
    walls = (2 * length_mm + width_mm) * height_mm / 1e6 * (1 - DOORS_AND_OPENINGS)
    return {
        "each": 1.0,
        "floor_m2": floor,
        "ceiling_m2": floor,
        "wall_m2": walls,
        "lining_m2": walls + floor,
        "length_m": length_mm / 1000,
        "around_m": 2 * (length_mm + width_mm) / 1000,
    }


def installation_measures(count: int) -> Mapping[str, float]:
    """The measures of an installation: "each" once, "count" for every window, vent or panel of it."""
    return {"each": 1.0, "count": float(count)}
