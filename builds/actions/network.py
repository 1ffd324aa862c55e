"""Links between tasks: added, changed, removed; a loop is refused with its path shown."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from builds.actions.door import Gone, Refused, check_version, note_in_journal, write
from builds.engines.composing.linking import close_gap, find_loop
from builds.engines.composing.network import ComposedLink
from builds.models import Build, HoldPoint, Link, Task, User

LONGEST_WAIT_MINUTES = 60 * 24 * 120


def add_link(
    *,
    before: Task,
    after: Task,
    wait_minutes: int = 0,
    latest_minutes: int | None = None,
    cure: str = "",
    now: datetime,
    by: User | None,
) -> Link:
    """Makes `after` wait for `before`, and `wait_minutes` of clock time more.

    Refuses a loop with its path, tasks of two builds, a second link between the same two, and a
    link into work that has started.
    """
    with write():
        before, after = fresh(before), fresh(after)
        _refuse_pair(before, after)
        _check_times(wait_minutes, latest_minutes)
        refuse_loop(after.build, [(before.pk, after.pk)])
        link = Link.objects.create(
            before=before, after=after, wait_minutes=wait_minutes, latest_minutes=latest_minutes, cure=cure
        )
        note_in_journal(f"“{after.name}” now waits for “{before.name}”", now=now, by=by, build=after.build)
        return link


def change_link(
    *, link: Link, wait_minutes: int, latest_minutes: int | None, now: datetime, by: User | None
) -> Link:
    """Changes how long a follower waits, and by when it should start."""
    with write():
        link = _fresh_link(link)
        _check_times(wait_minutes, latest_minutes)
        link.wait_minutes, link.latest_minutes = wait_minutes, latest_minutes
        link.save(update_fields=["wait_minutes", "latest_minutes"])
        words = f"“{link.after.name}” waits {wait_minutes / 60:g} h after “{link.before.name}”"
        note_in_journal(words, now=now, by=by, build=link.after.build)
        return link


def remove_link(*, link: Link, now: datetime, by: User | None) -> None:
    """Takes a link away; nothing inherits what it said. A check that is open keeps both its sides."""
    with write():
        link = _fresh_link(link)
        _refuse_loosening(link)
        words = f"“{link.after.name}” no longer waits for “{link.before.name}”"
        note_in_journal(words, now=now, by=by, build=link.after.build)
        link.delete()


def fresh(task: Task, version: int | None = None) -> Task:
    """The task as it is now; refuses one that was removed or, with `version`, changed meanwhile."""
    row = Task.objects.kept().select_related("build", "unit", "installation").filter(pk=task.pk).first()
    if row is None:
        raise Gone(f"“{task.name}” is not in the build any more.")
    check_version(row, version)
    return row


def refuse_loop(build: Build, extra: Iterable[tuple[int, int]]) -> None:
    """Refuses when the links (before, after) in `extra` would close a loop, and shows its path."""
    known = _composed(build)
    loop = find_loop(known, [ComposedLink(str(a), str(b)) for a, b in extra])
    if loop is None:
        return
    names = dict(Task.objects.filter(pk__in=[int(k) for k in loop]).values_list("pk", "name"))
    path = " → ".join(f"“{names[int(key)]}”" for key in loop)
    raise Refused(f"That would make a loop: {path}. Remove one of these links first.", field="after")


def bridge_gap(tasks: Iterable[Task], build: Build) -> None:
    """Takes tasks out of the links; their followers inherit what they waited for. Call inside a write."""
    rows = list(Link.objects.filter(before__build=build, before__removed_at=None, after__removed_at=None))
    known = {(row.before_id, row.after_id) for row in rows}
    composed: tuple[ComposedLink, ...] = tuple(map(_as_composed, rows))
    for task in tasks:
        composed = close_gap(composed, str(task.pk), task.name)
    wanted = {(int(link.before), int(link.after)): link for link in composed}
    Link.objects.bulk_create([_as_row(wanted[pair]) for pair in wanted.keys() - known])


def _composed(build: Build) -> list[ComposedLink]:
    rows = Link.objects.filter(before__build=build, before__removed_at=None, after__removed_at=None)
    return [ComposedLink(str(a), str(b)) for a, b in rows.values_list("before_id", "after_id")]


def _as_composed(row: Link) -> ComposedLink:
    latest = None if row.latest_minutes is None else row.latest_minutes / 60
    return ComposedLink(
        str(row.before_id), str(row.after_id), row.wait_minutes / 60, latest, row.cure, row.why
    )


def _as_row(link: ComposedLink) -> Link:
    return Link(
        before_id=int(link.before),
        after_id=int(link.after),
        wait_minutes=round(link.wait_hours * 60),
        latest_minutes=None if link.latest_hours is None else round(link.latest_hours * 60),
        cure=link.cure,
        why=(link.why or f"in place of “{link.through}”")[:200],
    )


def _refuse_pair(before: Task, after: Task) -> None:
    if before.build_id != after.build_id:
        raise Refused("Both tasks have to be of the same build.", field="after")
    if before.pk == after.pk:
        raise Refused("A task can't wait for itself.", field="after")
    if Link.objects.filter(before=before, after=after).exists():
        raise Refused(f"“{after.name}” waits for “{before.name}” already.", field="after")
    if after.started_at is not None:
        raise Refused(f"“{after.name}” has started, so it waits for nothing more.", field="after")


def _check_times(wait_minutes: int, latest_minutes: int | None) -> None:
    if not 0 <= wait_minutes <= LONGEST_WAIT_MINUTES:
        raise Refused("A wait is between 0 hours and 120 days.", field="wait_hours")
    if latest_minutes is not None and latest_minutes < wait_minutes:
        raise Refused("The latest start can't come before the wait is over.", field="latest_hours")


def _refuse_loosening(link: Link) -> None:
    """An open check holds what comes after it, and tests what comes before it, until it is signed."""
    for task in (link.before, link.after):
        check = HoldPoint.objects.filter(task=task, task__removed_at=None).first()
        if check is not None and not check.lets_followers_start:
            way = "It has to pass first."
            if check.may_overrule:
                way = "Let it pass, or overrule it in writing, first."
            raise Refused(f"The check “{check.name}” holds this link. {way}")


def _fresh_link(link: Link) -> Link:
    row = Link.objects.select_related("before", "after__build").filter(pk=link.pk).first()
    if row is None:
        raise Gone("That link is not there any more.")
    return row
