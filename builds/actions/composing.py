"""Writes a composed network into a build: tasks, links and hold points, copied from the shop's standard.

A copy stands on its own: later edits of the standard rewrite nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from builds.actions.door import Refused, note_in_journal, write
from builds.actions.floor_events import By
from builds.actions.needs import reckon
from builds.actions.network import bridge_gap
from builds.actions.parts import derive_new
from builds.actions.planning import forget_order
from builds.actions.tested import reopen_for_new_work
from builds.engines.composing.compose import compose, missing_needs
from builds.engines.composing.linking import close_gap
from builds.engines.composing.network import (
    ComposedLink,
    ComposedTask,
    InstallationPick,
    Network,
    Picks,
    UnitPick,
)
from builds.engines.composing.standard import StandardWork
from builds.models import (
    Build,
    HoldPoint,
    Installation,
    Link,
    StandardHoldPoint,
    StandardTask,
    Task,
    Unit,
    User,
)
from builds.queries.standard_work import standard_work


@dataclass(frozen=True)
class UnitChoice:
    """A unit picked for a build: its kind and outer sizes in millimetres."""

    kind: str
    name: str
    width_mm: int
    depth_mm: int
    height_mm: int
    stands: str = ""


@dataclass(frozen=True)
class InstallationChoice:
    kind: str
    count: int = 1


def add_to_build(
    *,
    build: Build,
    units: Iterable[UnitChoice] = (),
    installations: Iterable[InstallationChoice] = (),
    now: datetime,
    by: User | None,
) -> list[Task]:
    """Adds units and installations to a build with the tasks they bring; gives the new tasks."""
    with write():
        forget_order()
        added = put_in(build, units, installations)
        for task in added:
            reopen_for_new_work(task=task, by=By(user=by), now=now)
        names = [c.name for c in units] + [c.kind for c in installations]
        note_in_journal(f"Added {', '.join(names)}: {len(added)} tasks", now=now, by=by, build=build)
        return added


def take_out(*, owner: Unit | Installation, now: datetime, by: User | None) -> int:
    """Takes a unit or installation out again: its unstarted tasks go, their followers inherit.

    Refuses once work on it has started, and while another installation needs it. Gives how many
    tasks went.
    """
    with write():
        build = owner.build
        tasks = list(owner.tasks.kept())
        begun = next((t for t in tasks if t.started_at or t.state == "done"), None)
        if begun is not None:
            raise Refused(f"“{begun.name}” has begun, so {owner.name} stays. Remove single tasks instead.")
        if isinstance(owner, Installation):
            _refuse_if_needed(owner)
        type(owner).ever.filter(pk=owner.pk).update(removed_at=now)
        gone = tasks + _no_longer_needed(build)
        bridge_gap(gone, build)
        for task in gone:
            _retire(task, now)
        reckon(build)
        forget_order()
        note_in_journal(f"Took {owner.name} out: {len(gone)} tasks", now=now, by=by, build=build)
        return len(gone)


def put_in(
    build: Build, units: Iterable[UnitChoice], installations: Iterable[InstallationChoice]
) -> list[Task]:
    """Makes rows of the choices and of the tasks that come of them. Call inside a write."""
    work = standard_work()
    derive_new(build, _make_units(build, list(units), work))
    _make_installations(build, list(installations), work)
    picks = picks_of(build)
    _refuse_missing_needs(picks, work)
    added = _store(build, compose(picks, work))
    reckon(build)
    return added


def picks_of(build: Build) -> Picks:
    """What stands in a build, as the composer takes it."""
    return Picks(
        units=tuple(
            UnitPick(f"unit-{u.pk}", u.kind, u.name, u.width_mm, u.depth_mm, u.height_mm)
            for u in build.units.all()
        ),
        installations=tuple(
            InstallationPick(f"inst-{i.pk}", i.kind, i.count) for i in build.installations.all()
        ),
    )


def _make_units(build: Build, choices: list[UnitChoice], work: StandardWork) -> list[Unit]:
    first = Unit.ever.filter(build=build).count()
    made = []
    for order, choice in enumerate(choices, first):
        kind = work.unit_kinds.get(choice.kind)
        if kind is None:
            raise Refused(f"The shop has no kind of unit called “{choice.kind}”.", field="units")
        sizes = (choice.width_mm, choice.depth_mm, choice.height_mm)
        for label, size, least, most in zip(
            ("wide", "deep", "high"), sizes, kind.min_mm, kind.max_mm, strict=True
        ):
            if not least <= size <= most:
                name = choice.name or kind.name
                words = f"{name}: {size} mm {label} is outside the usual {least} to {most} mm."
                raise Refused(words, field="units")
        unit = Unit.objects.create(
            build=build,
            kind=choice.kind,
            name=(choice.name.strip() or kind.name)[:60],
            width_mm=choice.width_mm,
            depth_mm=choice.depth_mm,
            height_mm=choice.height_mm,
            stands=choice.stands.strip()[:60],
            order=order,
        )
        made.append(unit)
    return made


def _make_installations(build: Build, choices: list[InstallationChoice], work: StandardWork) -> None:
    first = Installation.ever.filter(build=build).count()
    for order, choice in enumerate(choices, first):
        kind = work.installations.get(choice.kind)
        if kind is None:
            raise Refused(f"The shop has no installation called “{choice.kind}”.", field="installations")
        if not 1 <= choice.count <= 50:
            raise Refused(f"{kind.name}: there are between 1 and 50.", field="installations")
        if build.installations.filter(kind=choice.kind).exists():
            raise Refused(f"{kind.name} is in this build already.", field="installations")
        Installation.objects.create(
            build=build, kind=choice.kind, name=kind.name, count=choice.count, order=order
        )


def _refuse_missing_needs(picks: Picks, work: StandardWork) -> None:
    missing = missing_needs(picks, work)
    if missing:
        words = "; ".join(
            f"{work.installations[kind].name} needs {work.installations[need].name}" for kind, need in missing
        )
        raise Refused(f"{words}. Pick it too, or leave the first out.", field="installations")


def _refuse_if_needed(owner: Installation) -> None:
    work = standard_work()
    for other in owner.build.installations.exclude(pk=owner.pk):
        kind = work.installations.get(other.kind)
        if kind and owner.kind in kind.needs:
            raise Refused(f"{other.name} needs {owner.name}. Take {other.name} out first.")


def _retire(task: Task, now: datetime) -> None:
    """Removes a task so that it comes again with what brought it; one the owner removed does not."""
    task.key, task.removed_at = f"{task.key[:60]}~{task.pk}", now
    task.save(update_fields=["key", "removed_at"])


def _no_longer_needed(build: Build) -> list[Task]:
    """Unstarted standard tasks of the van as a whole that what is left does not ask for.

    One whose standard was withdrawn since stays: the build was made with it.
    """
    network = compose(picks_of(build), standard_work())
    rows = Task.objects.kept().filter(
        build=build, unit=None, installation=None, state="to do", started_at=None
    )
    rows = rows.exclude(standard__in=StandardTask.objects.filter(withdrawn=True).values("key"))
    return [t for t in rows.exclude(standard="") if t.key == t.standard and t.key not in network.keys]


def _store(build: Build, network: Network) -> list[Task]:
    """Adds the tasks of `network` that the build does not have, and the links that touch them."""
    known = dict(Task.objects.filter(build=build, removed_at=None).values_list("key", "pk"))
    removed = set(Task.objects.filter(build=build).exclude(removed_at=None).values_list("key", flat=True))
    wanted = [t for t in network.tasks if t.key not in known and not (known and t.key in removed)]
    places = {t.key: n for n, t in enumerate(network.tasks)}
    new = Task.objects.bulk_create([_task_row(build, task, places[task.key]) for task in wanted])
    ids = known | {task.key: task.pk for task in new}
    fresh = {task.key for task in new}
    links = network.links
    for task in network.tasks:
        if task.key not in ids:
            links = close_gap(links, task.key, task.name)
    started = set(Task.objects.filter(build=build).exclude(started_at=None).values_list("key", flat=True))
    Link.objects.bulk_create(
        [
            _link_row(link, ids)
            for link in links
            if (link.before in fresh or link.after in fresh) and link.after not in started
        ]
    )
    _store_hold_points(build, new, {t.key: t.hold_point for t in wanted})
    return new


def _task_row(build: Build, task: ComposedTask, order: int) -> Task:
    owner = int(task.owner_id.partition("-")[2]) if task.owner_id else None
    hours = [Decimal(str(h)) for h in (task.hours_low, task.hours_likely, task.hours_high)]
    return Task(
        build=build,
        unit_id=owner if task.owner == "unit" else None,
        installation_id=owner if task.owner == "installation" else None,
        key=task.key,
        standard=task.standard,
        standard_share=Decimal(str(round(task.share, 4))),
        name=task.name,
        phase=task.phase,
        trade_id=task.trade,
        place_id=task.place,
        crew=task.crew,
        hours_low=hours[0],
        hours=hours[1],
        hours_high=hours[2],
        same_day=task.same_day,
        needs_van=task.needs_van,
        claims_van=task.claims_van,
        closes_up=task.closes_up,
        dries_here_minutes=round(task.dries_here_hours * 60),
        rack_minutes=round(task.rack_hours * 60),
        still_minutes=round(task.still_hours * 60),
        reminder=task.reminder,
        caution=task.caution,
        materials=", ".join(task.materials)[:300],
        why=task.why,
        order=order,
    )


def _link_row(link: ComposedLink, ids: dict[str, int]) -> Link:
    return Link(
        before_id=ids[link.before],
        after_id=ids[link.after],
        wait_minutes=round(link.wait_hours * 60),
        latest_minutes=None if link.latest_hours is None else round(link.latest_hours * 60),
        cure=link.cure,
        why=link.why,
    )


def _store_hold_points(build: Build, tasks: list[Task], kinds: dict[str, str]) -> None:
    standards = {row.key: row for row in StandardHoldPoint.objects.all()}
    rows = []
    for task in tasks:
        standard = standards.get(kinds.get(task.key, ""))
        if standard is not None:
            rows.append(hold_point_of(task, standard, build))
    HoldPoint.objects.bulk_create(rows)


def hold_point_of(task: Task, standard: StandardHoldPoint, build: Build) -> HoldPoint:
    """The check of one task, copied from the standard; limits of the van's plate are this van's."""
    return HoldPoint(
        task=task,
        kind=standard.key,
        name=standard.name,
        licensed_trade=standard.licensed_trade,
        may_overrule=standard.may_overrule,
        certificate_due=standard.certificate_due,
        photo_wanted=standard.photo_wanted,
        caution=standard.caution,
        fields=[_field(f, build) for f in standard.fields],
    )


def _field(field: dict, build: Build) -> dict:
    """A field with its limit; one that the van's plate sets is taken from this van."""
    field = dict(field)
    source = field.pop("most_of_build", None)
    limit = getattr(build, source) if source else None
    return field | {"most": limit} if limit else field
