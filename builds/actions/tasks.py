"""Changing the work of a build: tasks added, changed, split, copied, merged and removed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db.models import Max, Q

from builds.actions.door import Refused, note_in_journal, write
from builds.actions.floor_events import By
from builds.actions.licensed import prove_licensed_work
from builds.actions.network import bridge_gap, fresh, refuse_loop
from builds.actions.tested import reopen_checks, reopen_for_new_work
from builds.models import Build, Installation, Link, Task, Unit, User

MAY_CHANGE = (
    "name", "trade_id", "place_id", "crew", "hours_low", "hours", "hours_high", "same_day", "needs_van",
    "claims_van", "closes_up", "dries_here_minutes", "rack_minutes", "still_minutes", "reminder", "materials",
    "caution", "customer_sees",
)  # fmt: skip
WHAT_IT_IS = ("trade_id", "place_id", "hours")
"""A change of these while a tick waits on a tablet is for the owner to look at."""

HOW_IT_WAS_DONE = ("trade_id", "place_id", "materials")
"""A change of these to work that is done changes what its check tested."""

LOW, HIGH = Decimal("0.75"), Decimal("1.5")
"""What low and high hours are of the likely ones until somebody says. Common practice, no source."""

SHORTEST = Decimal("0.25")


def add_task(
    *,
    build: Build,
    fields: Mapping[str, Any],
    after: Iterable[Task] = (),
    before: Iterable[Task] = (),
    unit: Unit | None = None,
    installation: Installation | None = None,
    unplanned_job: bool = False,
    warranty: bool = False,
    token: UUID | None = None,
    now: datetime,
    by: User | None,
) -> Task:
    """Adds a task to a build, after some tasks and before others; a job nobody planned is one too.

    `fields` are those of `MAY_CHANGE`; low and high hours follow the likely ones where not given. The
    same form sent twice (`token`) adds one task. Refuses a loop with its path.
    """
    with write():
        known = Task.objects.filter(form_token=token).first() if token else None
        if known is not None:
            return known
        task = Task(
            build=build,
            unit=unit,
            installation=installation,
            key=_next_key(build),
            order=_next_order(build),
            unplanned_job=unplanned_job,
            warranty=warranty,
            form_token=token,
        )
        _put(task, fields)
        task.save()
        _join(task, after, before)
        reopen_for_new_work(task=task, by=By(user=by), now=now)
        prove_licensed_work(task)
        note_in_journal(f"Added “{task.name}”", now=now, by=by, build=build)
        return task


def change_task(
    *, task: Task, fields: Mapping[str, Any], version: int | None, now: datetime, by: User | None
) -> Task:
    """Changes a task; what was done on it stays. Refuses when it changed since the form was made."""
    with write():
        task = fresh(task, version)
        before = [getattr(task, name) for name in WHAT_IT_IS]
        was = [getattr(task, name) for name in HOW_IT_WAS_DONE]
        _refuse_unlicensed(task, fields)
        _put(task, fields)
        if before != [getattr(task, name) for name in WHAT_IT_IS]:
            task.changed_at = now
        task.version += 1
        prove_licensed_work(task)
        task.save(update_fields=[*(f.removesuffix("_id") for f in MAY_CHANGE), "version", "changed_at"])
        if task.state == "done" and was != [getattr(task, name) for name in HOW_IT_WAS_DONE]:
            reopen_checks(task=task, why=f"“{task.name}” was changed", by=By(user=by), now=now)
        note_in_journal(f"Changed “{task.name}”", now=now, by=by, build=task.build)
        return task


def split_task(
    *,
    task: Task,
    first_hours: Decimal,
    second_name: str = "",
    version: int | None = None,
    now: datetime,
    by: User | None,
) -> Task:
    """Splits a task in two, one after the other; gives the second.

    The first keeps `first_hours`, what came before and any work done; the second takes the rest, the
    waits after it and the check. Refuses a task that is done, and parts under a quarter of an hour.
    """
    with write():
        task = fresh(task, version)
        if task.state == "done":
            raise Refused(f"“{task.name}” is done; there is nothing left to split.")
        rest = task.hours - first_hours
        if first_hours < SHORTEST or rest < SHORTEST:
            words = f"Both parts need at least a quarter of an hour; there are {task.hours:g} h in all."
            raise Refused(words, field="first_hours")
        second = _copy_of(task, second_name.strip() or f"{task.name}, second part", rest)
        second.save()
        Link.objects.filter(before=task).update(before=second)
        check = getattr(task, "hold_point", None)
        if check is not None:
            check.task = second
            check.save(update_fields=["task"])
        Link.objects.create(before=task, after=second)
        dries = ("dries_here_minutes", "rack_minutes", "still_minutes")
        _put(task, {"hours": first_hours, **dict.fromkeys(dries, 0)})
        task.standard_share = None
        task.version, task.changed_at = task.version + 1, now
        task.save()
        note_in_journal(f"Split “{task.name}” in two", now=now, by=by, build=task.build)
        return second


def copy_task(*, task: Task, name: str = "", now: datetime, by: User | None) -> Task:
    """Copies a task with all its links, to be done beside it; gives the copy. A check is not copied."""
    with write():
        task = fresh(task)
        copy = _copy_of(task, name.strip() or f"{task.name}, again", task.hours)
        copy.save()
        links = list(Link.objects.filter(Q(before=task) | Q(after=task)).select_related("after"))
        for link in links:
            link.pk, link.dry_at = None, None
            if link.before_id == task.pk:
                link.before = copy
            else:
                link.after = copy
        Link.objects.bulk_create(
            [link for link in links if link.after == copy or link.after.started_at is None]
        )
        reopen_for_new_work(task=copy, by=By(user=by), now=now)
        note_in_journal(f"Copied “{task.name}”", now=now, by=by, build=task.build)
        return copy


def merge_tasks(*, tasks: Sequence[Task], name: str = "", now: datetime, by: User | None) -> Task:
    """Merges tasks of one build into the first: hours add up, links join, the others go.

    Refuses tasks that have begun, tasks of different trades or units, more than one check, and a merge
    that would make the task wait for itself.
    """
    with write():
        rows = [fresh(t) for t in dict.fromkeys(tasks)]
        _refuse_merge(rows)
        kept, others = rows[0], rows[1:]
        together = {t.pk for t in rows}
        links = list(Link.objects.filter(Q(before__in=rows) | Q(after__in=rows)))
        outer = [k for k in links if not (k.before_id in together and k.after_id in together)]
        pairs = {_pair(k, together, kept.pk): k for k in sorted(outer, key=lambda k: k.wait_minutes)}
        Link.objects.filter(pk__in=[k.pk for k in links]).delete()
        refuse_loop(kept.build, pairs.keys())
        for (before, after), link in pairs.items():
            link.pk, link.before_id, link.after_id = None, before, after
        Link.objects.bulk_create(pairs.values())
        _move_check(rows, kept)
        _take_in(kept, others, name)
        Task.objects.filter(pk__in=[t.pk for t in others]).update(removed_at=now, merged_into=kept)
        note_in_journal(f"Merged {len(rows)} tasks into “{kept.name}”", now=now, by=by, build=kept.build)
        return kept


def remove_task(*, task: Task, version: int | None = None, now: datetime, by: User | None) -> None:
    """Removes a task; its followers inherit what it waited for. Its history stays.

    Refuses one that is under way, and one whose check is open: that is passed or overruled first.
    """
    with write():
        task = fresh(task, version)
        if task.state == "under way":
            raise Refused(f"“{task.name}” is under way. Stop it first, then remove it.")
        _refuse_check_left_out(task)
        if task.state == "done":
            reopen_checks(task=task, why=f"“{task.name}” was taken out", by=By(user=by), now=now)
        bridge_gap([task], task.build)
        task.removed_at, task.version = now, task.version + 1
        task.save(update_fields=["removed_at", "version"])
        note_in_journal(f"Removed “{task.name}”", now=now, by=by, build=task.build)


def _refuse_check_left_out(task: Task) -> None:
    check = getattr(task, "hold_point", None)
    if check is None or check.lets_followers_start:
        return
    if not check.may_overrule:
        raise Refused(
            f"“{check.name}” can’t be left out: gas, mains and seats are always checked. "
            "Take the installation out of the build if it is not fitted."
        )
    raise Refused(f"“{check.name}” is open. Overrule it in writing first; the reason stays on record.")


def _refuse_unlicensed(task: Task, fields: Mapping[str, Any]) -> None:
    """Standard work of a licensed trade stays with it: a named competent person does it."""
    trade = fields.get("trade_id", task.trade_id)
    if task.standard and task.trade.licensed and trade != task.trade_id:
        raise Refused(
            f"This is {task.trade.name.lower()} work; a competent person of that trade is named for it.",
            field="trade_id",
        )


def _put(task: Task, fields: Mapping[str, Any]) -> None:
    """Sets the fields and runs the model's checks, so that words stand beside the field at fault."""
    fields = {name: value for name, value in fields.items() if name in MAY_CHANGE}
    before = task.hours
    for name, value in fields.items():
        setattr(task, name, value.strip() if isinstance(value, str) else value)
    if not task.name:
        raise Refused("Say what is to be done.", field="name")
    if "hours" in fields and "hours_low" not in fields and (task.pk is None or task.hours != before):
        task.hours_low = (task.hours * LOW).quantize(Decimal("0.01"))
    if "hours" in fields and "hours_high" not in fields and (task.pk is None or task.hours != before):
        task.hours_high = (task.hours * HIGH).quantize(Decimal("0.01"))
    try:
        task.clean_fields(exclude=("build", "unit", "installation", "merged_into", "crew_on_it"))
    except ValidationError as error:
        name, messages = next(iter(error.message_dict.items()))
        raise Refused(
            messages[0], field={"trade": "trade_id", "place": "place_id"}.get(name, name)
        ) from error
    if not task.hours_low <= task.hours <= task.hours_high:
        raise Refused("Low hours come first, then the likely ones, then the high ones.", field="hours_low")


def _join(task: Task, after: Iterable[Task], before: Iterable[Task]) -> None:
    befores, followers = [fresh(t) for t in after], [fresh(t) for t in before]
    for other in (*befores, *followers):
        if other.build_id != task.build_id:
            raise Refused("Tasks of another build can’t be linked.", field="after")
    for follower in followers:
        if follower.started_at:
            raise Refused(f"“{follower.name}” has started, so it waits for nothing more.", field="before")
    pairs = [(b.pk, task.pk) for b in befores] + [(task.pk, f.pk) for f in followers]
    Link.objects.bulk_create([Link(before_id=a, after_id=b) for a, b in dict.fromkeys(pairs)])
    refuse_loop(task.build, pairs)


def _copy_of(task: Task, name: str, hours: Decimal) -> Task:
    share = hours / task.hours
    return Task(
        build=task.build,
        unit=task.unit,
        installation=task.installation,
        key=_next_key(task.build),
        standard=task.standard,
        name=name[:120],
        phase=task.phase,
        trade_id=task.trade_id,
        place_id=task.place_id,
        crew=task.crew,
        hours=hours,
        hours_low=min(hours, (task.hours_low * share).quantize(Decimal("0.01"))),
        hours_high=max(hours, (task.hours_high * share).quantize(Decimal("0.01"))),
        same_day=task.same_day,
        needs_van=task.needs_van,
        claims_van=task.claims_van,
        closes_up=task.closes_up,
        dries_here_minutes=task.dries_here_minutes,
        rack_minutes=task.rack_minutes,
        still_minutes=task.still_minutes,
        reminder=task.reminder,
        caution=task.caution,
        materials=task.materials,
        why=task.why,
        unplanned_job=task.unplanned_job,
        warranty=task.warranty,
        customer_sees=task.customer_sees,
        order=task.order,
    )


def _refuse_merge(rows: Sequence[Task]) -> None:
    if len(rows) < 2:
        raise Refused("Choose two tasks or more to merge.")
    if len({t.build_id for t in rows}) > 1:
        raise Refused("Only tasks of one build can be merged.")
    begun = next((t for t in rows if t.started_at or t.state == "done"), None)
    if begun is not None:
        raise Refused(f"“{begun.name}” has begun, so it can’t be merged.")
    if len({t.trade_id for t in rows}) > 1:
        raise Refused("These tasks are of different trades; one crew could not do them all.")
    if len({(t.unit_id, t.installation_id) for t in rows}) > 1:
        raise Refused("These tasks belong to different units or installations.")
    if sum(hasattr(t, "hold_point") for t in rows) > 1:
        raise Refused("Two checks can’t become one.")


def _pair(link: Link, together: set[int], kept: int) -> tuple[int, int]:
    return (
        kept if link.before_id in together else link.before_id,
        kept if link.after_id in together else link.after_id,
    )


def _move_check(rows: Sequence[Task], kept: Task) -> None:
    for task in rows[1:]:
        check = getattr(task, "hold_point", None)
        if check is not None:
            check.task = kept
            check.save(update_fields=["task"])


def _take_in(kept: Task, others: Sequence[Task], name: str) -> None:
    kept.name = (name.strip() or kept.name)[:120]
    kept.standard_share = None
    for other in others:
        kept.hours += other.hours
        kept.hours_low += other.hours_low
        kept.hours_high += other.hours_high
        kept.crew = max(kept.crew, other.crew)
        kept.needs_van |= other.needs_van
        kept.claims_van |= other.claims_van
        kept.closes_up |= other.closes_up
        kept.dries_here_minutes = max(kept.dries_here_minutes, other.dries_here_minutes)
        kept.rack_minutes = max(kept.rack_minutes, other.rack_minutes)
        kept.still_minutes = max(kept.still_minutes, other.still_minutes)
    kept.version += 1
    _put(kept, {})
    kept.save()


def _next_key(build: Build) -> str:
    return f"own-{Task.objects.filter(build=build).count() + 1}"


def _next_order(build: Build) -> int:
    last = Task.objects.filter(build=build).aggregate(last=Max("order"))["last"]
    return 0 if last is None else last + 1
