"""The trade's standard work as the composer reads it: kinds of unit, installations, tasks and links.

The rows may come from the project's own library or from a shop's edited copy of it; the composer
does not care. Sizes are millimetres, hours are working hours of the whole crew, waits are clock hours.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class UnitKind:
    """A kind of furniture with its usual outer sizes.

    `made_as` groups kinds that are made the same way. `work` compares its hours with those of a plain
    carcass (1.0). `board_share` is the area of board in it as a share of its outer box's surface;
    `coated_faces` says how many faces of that board are coated.
    """

    key: str
    name: str
    made_as: str
    width_mm: int
    depth_mm: int
    height_mm: int
    min_mm: tuple[int, int, int]
    max_mm: tuple[int, int, int]
    work: float
    board: str
    board_share: float
    coated_faces: int


@dataclass(frozen=True, slots=True)
class InstallationKind:
    """A system that may be put in. `counted_in` names what there are several of, `usual_count` how many."""

    key: str
    name: str
    picked: bool
    needs: tuple[str, ...]
    counted_in: str
    usual_count: int
    explanation: str


@dataclass(frozen=True, slots=True)
class Scope:
    """To whom a standard task belongs, and so how often it comes.

    `how` is "van" (once), "furniture" (once, if there is any unit), "any_of" (once, if any of `names`
    was picked), "installation" (once for each pick of that kind), "unit" (for each unit of the kinds
    named, "*" for all) or "made" (for each unit made in one of the ways named).
    """

    how: str
    names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class StandardTask:
    """One piece of work of the trade, before it belongs to a build. `order` is its row's place."""

    key: str
    name: str
    scope: Scope
    phase: str
    trade: str
    place: str
    crew: int
    hours_low: float
    hours_likely: float
    hours_high: float
    only_with: tuple[str, ...] = ()
    scaled: bool = False
    same_day: bool = False
    needs_van: bool = True
    claims_van: bool = False
    closes_up: bool = False
    dries_here_hours: float = 0.0
    rack_hours: float = 0.0
    still_hours: float = 0.0
    hold_point: str = ""
    reminder: str = ""
    caution: str = ""
    lead_time: str = ""
    materials: tuple[str, ...] = ()
    why: str = ""
    basis: str = ""
    order: int = 0


@dataclass(frozen=True, slots=True)
class StandardLink:
    """`after` may start `wait_hours` of clock time after `before` finishes.

    `match` is "own" (the same unit's, the same installation's) or "every". `before_units` narrows
    `before` to units of these kinds. `latest_hours` is the window by which `after` should start.
    """

    before: str
    after: str
    wait_hours: float = 0.0
    latest_hours: float | None = None
    cure: str = ""
    match: str = "own"
    before_units: tuple[str, ...] = ()
    why: str = ""


@dataclass(frozen=True, slots=True)
class StandardWork:
    """All the standard work there is, by key."""

    unit_kinds: Mapping[str, UnitKind]
    installations: Mapping[str, InstallationKind]
    tasks: Mapping[str, StandardTask]
    links: tuple[StandardLink, ...]
