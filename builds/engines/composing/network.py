"""What was picked for a build, and the network of tasks and links that comes of it."""

from __future__ import annotations

from dataclasses import dataclass, field


class ComposingError(Exception):
    """Something asked of a network that can't be: `kind` says what, `keys` which tasks or picks.

    Kinds: "unknown kind", "key taken", "no such task", "loop" (`keys` is the path, first task again
    at the end), "too few", "hours".
    """

    def __init__(self, kind: str, message: str, keys: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.kind = kind
        self.keys = keys


@dataclass(frozen=True, slots=True)
class UnitPick:
    """A unit chosen for a build, with its outer sizes in millimetres."""

    id: str
    kind: str
    name: str
    width_mm: int
    depth_mm: int
    height_mm: int


@dataclass(frozen=True, slots=True)
class InstallationPick:
    """An installation chosen for a build; `count` is how many windows, roof vents and the like."""

    id: str
    kind: str
    count: int | None = None


@dataclass(frozen=True, slots=True)
class Picks:
    """Everything picked for one build."""

    units: tuple[UnitPick, ...] = ()
    installations: tuple[InstallationPick, ...] = ()


@dataclass(frozen=True, slots=True)
class ComposedTask:
    """A task of one build. `key` is stable: "owner/standard", or the standard key alone for the van.

    `owner` is "van", "unit" or "installation", `owner_id` the pick's id (empty for the van). Hours are
    working hours of the whole crew of `crew` people, `share` times those of the standard.
    """

    key: str
    name: str
    owner: str
    owner_id: str
    standard: str
    phase: str
    trade: str
    place: str
    crew: int
    hours_low: float
    hours_likely: float
    hours_high: float
    share: float = 1.0
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

    @property
    def person_hours(self) -> float:
        return self.hours_likely * self.crew


@dataclass(frozen=True, slots=True)
class ComposedLink:
    """`after` may start `wait_hours` of clock time after `before` finishes, best within `latest_hours`.

    `through` names the task that was left out and whose place this link took.
    """

    before: str
    after: str
    wait_hours: float = 0.0
    latest_hours: float | None = None
    cure: str = ""
    why: str = ""
    through: str = ""


@dataclass(frozen=True, slots=True)
class Network:
    """The tasks of one build in the trade's order, and their links."""

    tasks: tuple[ComposedTask, ...] = ()
    links: tuple[ComposedLink, ...] = field(default=())

    def task(self, key: str) -> ComposedTask:
        for task in self.tasks:
            if task.key == key:
                return task
        raise ComposingError("no such task", f"There is no task {key}.", (key,))

    @property
    def keys(self) -> frozenset[str]:
        return frozenset(task.key for task in self.tasks)

    @property
    def person_hours(self) -> float:
        return sum(task.person_hours for task in self.tasks)
