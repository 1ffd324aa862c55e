"""Invented boards and a unit to start from, for the tests of the joinery engine."""

from __future__ import annotations

from decimal import Decimal

from builds.engines.joinery.pieces import Board
from builds.engines.joinery.unit import ToMake

PLY12 = Board("ply12", "Birch ply 12 mm", 120, 24400, 12200, 695)
PLY4 = Board("ply4", "Birch ply 4 mm", 40, 24400, 12200, 660)
PLY9 = Board("ply9", "Birch ply 9 mm", 90, 24400, 12200, 710)
STRIP = Board("strip6", "Ply strip", 60, 24400, 400, 680, Decimal("0.163"), is_length=True)
TUBE = Board("tube25", "Tube", 250, 20000, 250, None, Decimal("0.300"), is_length=True)

MADE_AS = {
    "seat_box": "carcass",
    "bench_box": "carcass",
    "bed": "carcass",
    "overhead": "carcass",
    "kitchen": "carcass",
    "wardrobe": "carcass",
    "pantry": "carcass",
    "drawer": "carcass",
    "door_cards": "panels",
    "headliner_shelf": "panels",
    "shower_cubicle": "wet",
    "fronts": "fronts",
    "worktop": "top",
}


def to_make(kind: str = "wardrobe", width: int = 6000, depth: int = 5500, height: int = 17000, **choices):
    boards = {"board": PLY12, "back_board": PLY4, "front_board": PLY9, "strip": STRIP, "rail": TUBE}
    return ToMake(kind, MADE_AS[kind], width, depth, height, **(boards | choices))
