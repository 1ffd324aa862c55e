"""Composing a build's task network from the standard work and what was picked."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from builds.engines.composing.linking import close_gap, drop_implied, in_order, merge_parallel
from builds.engines.composing.network import (
    ComposedLink,
    ComposedTask,
    ComposingError,
    InstallationPick,
    Network,
    Picks,
    UnitPick,
)
from builds.engines.composing.standard import InstallationKind, StandardTask, StandardWork, UnitKind

SMALLEST_SHARE, LARGEST_SHARE = 0.6, 1.6
"""Hours do not shrink or grow beyond this with size: set-up stays, and big panels go twice as quickly."""

FEWEST_SHARE, MOST_SHARE = 0.5, 3.0
"""The same for hours that go by the count of windows and the like."""

Pick = UnitPick | InstallationPick


def compose(picks: Picks, library: StandardWork) -> Network:
    """Compose the task network of a build from the units and installations picked.

    A standard task that was not picked closes its gap: its followers inherit what it waited for, with
    the wait of the inherited link. Parallel links merge to the larger wait; links that a longer path
    implies are dropped. Tasks come in the trade's order, each after all that it follows.
    Raises ComposingError for a pick of unknown kind or two picks of one id.
    """
    check_picks(picks, library)
    nodes = {row.key: _nodes(row, picks, library) for row in library.tasks.values()}
    links = _instance_links(nodes, library)
    for row in library.tasks.values():
        for node in nodes[row.key]:
            if not node.present:
                links = close_gap(links, node.key, row.name)
    links = drop_implied(merge_parallel(links))
    tasks = {
        node.key: _task(row, node, library)
        for row in library.tasks.values()
        for node in nodes[row.key]
        if node.present
    }
    return Network(tuple(tasks[key] for key in in_order(tasks, links)), links)


def check_picks(picks: Picks, library: StandardWork) -> None:
    """Refuse picks of a kind that the library does not have, and two picks with one id."""
    seen: set[str] = set()
    for pick in _all(picks):
        known = library.unit_kinds if isinstance(pick, UnitPick) else library.installations
        if pick.kind not in known:
            raise ComposingError("unknown kind", f"There is no standard work for “{pick.kind}”.", (pick.id,))
        if pick.id in seen or not pick.id or "/" in pick.id or pick.id in library.tasks:
            raise ComposingError("key taken", f"“{pick.id}” can't be the key of a pick.", (pick.id,))
        seen.add(pick.id)


def missing_needs(picks: Picks, library: StandardWork) -> tuple[tuple[str, str], ...]:
    """Name what picked installations need and was not picked, as (installation, what it needs) by kind."""
    kinds = {pick.kind for pick in picks.installations}
    return tuple(
        (kind, need)
        for kind in sorted(kinds)
        for need in library.installations[kind].needs
        if need not in kinds
    )


@dataclass(frozen=True, slots=True)
class _Node:
    """A standard task for one owner; `present` tells whether it was picked, or is a gap to close."""

    key: str
    present: bool
    pick: Pick | None = None


def _all(picks: Picks) -> tuple[Pick, ...]:
    return (*picks.units, *picks.installations)


def _nodes(row: StandardTask, picks: Picks, library: StandardWork) -> tuple[_Node, ...]:
    """Lay out a row for every owner it could have; where it has none at all, as one gap."""
    allowed = set(row.only_with) <= {pick.kind for pick in picks.installations}
    how = row.scope.how
    if how in ("unit", "made"):
        owners: tuple[Pick, ...] = picks.units
    elif how == "installation":
        owners = tuple(pick for pick in picks.installations if pick.kind in row.scope.names)
    else:
        return (_Node(row.key, allowed and _comes_once(row, picks, library)),)
    nodes = [_Node(f"{pick.id}/{row.key}", allowed and _is_for(row, pick, library), pick) for pick in owners]
    if not any(node.present for node in nodes):
        nodes.append(_Node(row.key, False))
    return tuple(nodes)


def _comes_once(row: StandardTask, picks: Picks, library: StandardWork) -> bool:
    if row.scope.how == "van":
        return True
    if row.scope.how == "furniture":
        return bool(picks.units)
    wanted = set(row.scope.names)
    if "furniture" in wanted and picks.units:
        return True
    kinds = {pick.kind for pick in _all(picks)}
    made = {library.unit_kinds[unit.kind].made_as for unit in picks.units}
    return bool(wanted & (kinds | made))


def _is_for(row: StandardTask, pick: Pick, library: StandardWork) -> bool:
    names = row.scope.names
    if row.scope.how == "made":
        return library.unit_kinds[pick.kind].made_as in names
    return "*" in names or pick.kind in names


def _instance_links(nodes: dict[str, tuple[_Node, ...]], library: StandardWork) -> tuple[ComposedLink, ...]:
    links: dict[tuple[str, str], list[ComposedLink]] = defaultdict(list)
    for link in library.links:
        befores, afters = nodes[link.before], nodes[link.after]
        if link.before_units:
            befores = tuple(
                node for node in befores if node.pick is not None and node.pick.kind in link.before_units
            )
        for before, after in _pairs(befores, afters, link.match):
            joined = ComposedLink(
                before.key, after.key, link.wait_hours, link.latest_hours, link.cure, link.why
            )
            links[before.key, after.key].append(joined)
    return merge_parallel(link for same in links.values() for link in same)


def _pairs(befores: Iterable[_Node], afters: Iterable[_Node], match: str) -> Iterable[tuple[_Node, _Node]]:
    """Pair what follows what: one to all, each to its own, or all to all.

    Between tasks that both repeat, "own" joins those of one owner; a gap without owner joins all. With
    "every", gaps of single owners are only left, never entered: nothing hangs on a task that is not there.
    """
    for before in befores:
        for after in afters:
            if before.pick is None or after.pick is None:
                yield before, after
            elif match == "own" and _alike(before.pick, after.pick):
                if before.pick.id == after.pick.id:
                    yield before, after
            elif after.present:
                yield before, after


def _alike(one: Pick, other: Pick) -> bool:
    """Whether two owners repeat over the same set: both units, or both installations of one kind."""
    return type(one) is type(other) and (isinstance(one, UnitPick) or one.kind == other.kind)


def _task(row: StandardTask, node: _Node, library: StandardWork) -> ComposedTask:
    share = _share(row, node.pick, library)
    pick = node.pick
    owner = "van" if pick is None else "unit" if isinstance(pick, UnitPick) else "installation"
    return ComposedTask(
        key=node.key,
        name=row.name,
        owner=owner,
        owner_id="" if pick is None else pick.id,
        standard=row.key,
        phase=row.phase,
        trade=row.trade,
        place=row.place,
        crew=row.crew,
        hours_low=_quarter(row.hours_low * share),
        hours_likely=_quarter(row.hours_likely * share),
        hours_high=_quarter(row.hours_high * share),
        share=share,
        same_day=row.same_day,
        needs_van=row.needs_van,
        claims_van=row.claims_van,
        closes_up=row.closes_up,
        dries_here_hours=row.dries_here_hours,
        rack_hours=row.rack_hours,
        still_hours=row.still_hours,
        hold_point=row.hold_point,
        reminder=row.reminder,
        caution=row.caution,
        lead_time=row.lead_time,
        materials=row.materials,
        why=row.why,
        basis=row.basis,
    )


def _share(row: StandardTask, pick: Pick | None, library: StandardWork) -> float:
    """How many times its standard hours a task takes for this owner."""
    if not row.scaled or pick is None:
        return 1.0
    if isinstance(pick, UnitPick):
        kind = library.unit_kinds[pick.kind]
        return kind.work * _clamped(size_share(pick, kind), SMALLEST_SHARE, LARGEST_SHARE)
    return _clamped(count_share(pick, library.installations[pick.kind]), FEWEST_SHARE, MOST_SHARE)


def size_share(unit: UnitPick, kind: UnitKind) -> float:
    """Compare the surface of a unit's outer box with that of its kind's usual one."""
    usual = box_surface_m2(kind.width_mm, kind.depth_mm, kind.height_mm)
    return box_surface_m2(unit.width_mm, unit.depth_mm, unit.height_mm) / usual


def count_share(pick: InstallationPick, kind: InstallationKind) -> float:
    """Compare how many windows and the like were picked with how many there usually are."""
    return (kind.usual_count if pick.count is None else pick.count) / kind.usual_count


def box_surface_m2(width_mm: float, depth_mm: float, height_mm: float) -> float:
    """The surface of a box in square metres."""
    return 2 * (width_mm * depth_mm + width_mm * height_mm + depth_mm * height_mm) / 1e6


def _clamped(value: float, least: float, most: float) -> float:
    return min(most, max(least, value))


def _quarter(hours: float) -> float:
    """Round to quarter hours, half a quarter up, never to nothing."""
    return max(0.25, int(hours * 4 + 0.5) / 4)
