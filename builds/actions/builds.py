"""A build from its start to its handover: begin it, change it, promise a date, drop it, hand it over."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError

from builds.actions.composing import InstallationChoice, UnitChoice, put_in
from builds.actions.door import Gone, Refused, check_version, note_in_journal, write
from builds.actions.floor_events import By
from builds.actions.licensed import prove_licensed_work
from builds.actions.planning import forget_order
from builds.actions.tasks import HIGH, LOW
from builds.actions.tested import open_again
from builds.models import Build, Customer, HoldPoint, PromiseTold, Snag, Task, User
from builds.queries.certificates import certificates_missing

FARTHEST = timedelta(days=3 * 365)
"""Dates farther off than this are typing errors; the plan looks three years ahead."""

MAY_CHANGE = (
    "name", "registration", "body_name", "wheelbase_mm", "overall_length_mm", "load_length_mm",
    "load_width_mm", "load_height_mm", "rear_overhang_mm", "plated_mass_kg", "front_axle_limit_kg",
    "rear_axle_limit_kg", "arriving_mass_kg", "survey_on", "arrives_on", "promise_weight", "price_agreed",
    "notes",
)  # fmt: skip


@dataclass(frozen=True)
class NewBuild:
    """What the owner fills in for a new build. `van` holds fields of Build by name."""

    name: str
    customer_name: str
    customer_email: str = ""
    customer_phone: str = ""
    customer_address: str = ""
    status: str = "agreed"
    van: Mapping[str, Any] = field(default_factory=dict)
    survey_on: date | None = None
    arrives_on: date | None = None
    promised_on: date | None = None
    price_agreed: Decimal | None = None
    notes: str = ""
    units: tuple[UnitChoice, ...] = ()
    installations: tuple[InstallationChoice, ...] = ()


def start_build(*, new: NewBuild, token: UUID | None = None, now: datetime, by: User | None) -> Build:
    """Begins a build: customer, van, dates and everything picked, with its whole task network.

    The same form sent twice (`token`) makes one build. Refuses dates that can't be, sizes outside a
    unit's usual ones, and an installation without what it needs.
    """
    with write():
        known = Build.objects.filter(form_token=token).first() if token else None
        if known is not None:
            return known
        if not new.units and not new.installations:
            raise Refused("Pick at least one unit or installation: the work comes from them.", field="units")
        build = _make(new, token, now)
        put_in(build, new.units, new.installations)
        if build.promised_on:
            PromiseTold.objects.create(
                build=build, promised_on=build.promised_on, told_at=now, why="at the order", by=by
            )
        forget_order()
        note_in_journal(f"Began the build {build.name}", now=now, by=by, build=build)
        return build


def _make(new: NewBuild, token: UUID | None, now: datetime) -> Build:
    customer = Customer(
        name=_needed(new.customer_name, "customer_name", "Give the customer’s name.")[:80],
        email=new.customer_email.strip(),
        phone=new.customer_phone.strip()[:30],
        address=new.customer_address.strip()[:400],
    )
    _checked(customer, {"name": "customer_name", "email": "customer_email"})
    customer.save()
    build = Build(
        name=_needed(new.name, "name", "Give the van a name to call it by.")[:60],
        customer=customer,
        status=new.status,
        survey_on=new.survey_on,
        arrives_on=new.arrives_on,
        promised_on=new.promised_on,
        price_agreed=new.price_agreed,
        notes=new.notes.strip(),
        form_token=token,
        **{k: v for k, v in new.van.items() if k in MAY_CHANGE},
    )
    _check(build, now)
    build.save()
    return build


def change_build(
    *, build: Build, changes: Mapping[str, Any], version: int | None = None, now: datetime, by: User | None
) -> Build:
    """Changes facts of the van and its dates; the promise has an action of its own."""
    with write():
        build = _fresh(build, version)
        before = (build.survey_on, build.arrives_on, build.promise_weight)
        for name, value in changes.items():
            if name in MAY_CHANGE:
                setattr(build, name, value)
        build.name = _needed(build.name, "name", "Give the van a name to call it by.")
        _check(build, now)
        build.version += 1
        build.save()
        _set_weighing_limits(build, By(user=by), now)
        if build.status == "agreed" and before != (build.survey_on, build.arrives_on, build.promise_weight):
            forget_order()
        note_in_journal(f"Changed the facts of {build.name}", now=now, by=by, build=build)
        return build


def change_customer(*, build: Build, changes: Mapping[str, str], now: datetime, by: User | None) -> None:
    """Changes the customer's name and how to reach them."""
    with write(plan=False):
        customer = _fresh(build).customer
        for name in ("name", "email", "phone", "address"):
            if name in changes:
                setattr(customer, name, changes[name].strip())
        _checked(customer, {"name": "customer_name", "email": "customer_email"})
        customer.save()
        note_in_journal("Changed how to reach the customer", now=now, by=by, build=build)


def tell_promise(
    *,
    build: Build,
    promised_on: date,
    why: str = "",
    version: int | None = None,
    now: datetime,
    by: User | None,
) -> Build:
    """Keeps the handover date the customer is told; every date ever told stays on record."""
    with write():
        build = _fresh(build, version)
        if build.promised_on == promised_on:
            return build
        if build.promised_on and not why.strip():
            raise Refused("Say why the date changes; it stays on record.", field="why")
        build.promised_on = promised_on
        _check(build, now)
        build.version += 1
        build.save()
        PromiseTold.objects.create(
            build=build, promised_on=promised_on, told_at=now, why=why.strip()[:200], by=by
        )
        if build.status == "agreed":
            forget_order()
        note_in_journal(
            f"Promised {promised_on:%a} {promised_on.day} {promised_on:%b %Y}", now=now, by=by, build=build
        )
        return build


def agree(*, build: Build, now: datetime, by: User | None) -> Build:
    """Takes an asked-about build on: from now on it is planned with the others."""
    return _set_status(build, "asked", "agreed", "Took the build on", now, by)


def drop(*, build: Build, now: datetime, by: User | None) -> Build:
    """Gives a build up; its work leaves the plan, its record stays."""
    with write():
        build = _fresh(build)
        if build.status in ("handed over", "dropped"):
            raise Refused(f"{build.name} is {build.status} already.")
        build.status, build.version = "dropped", build.version + 1
        build.save(update_fields=["status", "version"])
        forget_order()
        note_in_journal(f"Dropped the build {build.name}", now=now, by=by, build=build)
        return build


def hand_over(*, build: Build, on: date, now: datetime, by: User | None) -> Build:
    """Closes a build that is done: every task, every check, every certificate, every snag."""
    with write():
        build = _fresh(build)
        if build.status != "agreed":
            raise Refused(f"{build.name} is {build.status}, so it can’t be handed over.")
        missing = not_ready_for_handover(build)
        if missing:
            raise Refused("Not yet: " + "; ".join(missing) + ".")
        build.status, build.handed_over_on, build.version = "handed over", on, build.version + 1
        build.save(update_fields=["status", "handed_over_on", "version"])
        note_in_journal(f"Handed {build.name} over", now=now, by=by, build=build)
        return build


def not_ready_for_handover(build: Build) -> list[str]:
    """What a handover still waits for, in words; empty when nothing."""
    found = []
    unfinished = Task.objects.unfinished().filter(build=build).count()
    if unfinished:
        found.append("1 task is not done" if unfinished == 1 else f"{unfinished} tasks are not done")
    due = HoldPoint.objects.filter(task__build=build, task__removed_at=None)
    found += [
        f"the check “{name}” is not passed"
        for name in due.exclude(state__in=["passed", "overruled"]).values_list("name", flat=True)
    ]
    found += [f"the certificate of “{name}” is not on record" for name in certificates_missing(build)]
    snags = Snag.objects.filter(build=build, put_right_at=None).count()
    if snags:
        found.append("1 snag is open" if snags == 1 else f"{snags} snags are open")
    return found


@dataclass(frozen=True)
class ReturnedJob:
    """One job of a van that comes back."""

    name: str
    trade: str
    place: str
    hours: Decimal


def take_back(
    *,
    build: Build,
    arrives_on: date,
    promised_on: date | None,
    jobs: Iterable[ReturnedJob],
    token: UUID | None = None,
    now: datetime,
    by: User | None,
) -> Build:
    """Takes a handed-over van in again for work under warranty, as a small build of its own."""
    with write():
        known = Build.objects.filter(form_token=token).first() if token else None
        if known is not None:
            return known
        build = _fresh(build)
        if build.status != "handed over":
            raise Refused(f"{build.name} has not been handed over; add the work to the build as it is.")
        jobs = list(jobs)
        if not jobs:
            raise Refused("Say what is to be done.", field="name")
        facts = {name: getattr(build, name) for name in MAY_CHANGE if name.endswith(("_mm", "_kg", "_name"))}
        back = Build(
            name=f"{build.name} back"[:60],
            customer=build.customer,
            registration=build.registration,
            arrives_on=arrives_on,
            promised_on=promised_on,
            return_of=build,
            form_token=token,
            **facts,
        )
        _check(back, now)
        back.save()
        for order, job in enumerate(jobs):
            prove_licensed_work(_returned_task(back, job, order))
        forget_order()
        note_in_journal(f"{build.name} comes back for {len(jobs)} jobs", now=now, by=by, build=back)
        return back


def _returned_task(build: Build, job: ReturnedJob, order: int) -> Task:
    task = Task(
        build=build,
        key=f"back-{order + 1}",
        name=_needed(job.name, "name", "Say what is to be done.")[:120],
        trade_id=job.trade,
        place_id=job.place,
        hours=job.hours,
        hours_low=(job.hours * LOW).quantize(Decimal("0.01")),
        hours_high=(job.hours * HIGH).quantize(Decimal("0.01")),
        warranty=True,
        order=order,
    )
    _checked(task, {})
    task.save()
    return task


def _set_status(build: Build, needed: str, status: str, words: str, now, by) -> Build:
    with write():
        build = _fresh(build)
        if build.status != needed:
            raise Refused(f"{build.name} is {build.status} already.")
        build.status, build.version = status, build.version + 1
        build.save(update_fields=["status", "version"])
        forget_order()
        note_in_journal(f"{words}: {build.name}", now=now, by=by, build=build)
        return build


def _fresh(build: Build, version: int | None = None) -> Build:
    row = Build.objects.select_related("customer").filter(pk=build.pk).first()
    if row is None:
        raise Gone("That build is not there any more.")
    check_version(row, version)
    return row


def _check(build: Build, now: datetime) -> None:
    """Refuses dates that can't be, in words beside the field, before the database has to."""
    for name in ("survey_on", "arrives_on", "promised_on"):
        day = getattr(build, name)
        if day is not None and abs(day - now.date()) > FARTHEST:
            raise Refused("That is more than three years away. Look at the year.", field=name)
    if build.survey_on and build.arrives_on and build.survey_on > build.arrives_on:
        raise Refused("The survey can’t be after the van comes to stay.", field="survey_on")
    if build.promised_on and build.arrives_on and build.promised_on <= build.arrives_on:
        raise Refused("The promise has to be after the day the van comes.", field="promised_on")
    if build.promised_on and not build.arrives_on:
        raise Refused("Say when the van comes to stay before promising a date.", field="arrives_on")
    axles = (build.front_axle_limit_kg or 0) + (build.rear_axle_limit_kg or 0)
    if build.plated_mass_kg and build.arriving_mass_kg and build.arriving_mass_kg >= build.plated_mass_kg:
        raise Refused("The van can’t arrive as heavy as its plated mass.", field="arriving_mass_kg")
    if (
        build.plated_mass_kg
        and 0 < axles < build.plated_mass_kg
        and build.front_axle_limit_kg
        and build.rear_axle_limit_kg
    ):
        raise Refused(
            "Both axle limits together can’t be less than the plated mass.", field="rear_axle_limit_kg"
        )
    _checked(build, {}, exclude=("customer", "form_token", "return_of"))


def _checked(row, names: Mapping[str, str], exclude: tuple[str, ...] = ()) -> None:
    """Runs the model's own checks of its fields and tells the first fault in words."""
    try:
        row.clean_fields(exclude=exclude)
    except ValidationError as error:
        name, messages = next(iter(error.message_dict.items()))
        raise Refused(messages[0], field=names.get(name, name)) from error


def _needed(text: str, name: str, words: str) -> str:
    text = text.strip()
    if not text:
        raise Refused(words, field=name)
    return text


def _set_weighing_limits(build: Build, by: By, now: datetime) -> None:
    """The limits of a weighing follow the van's plate; one that was signed by other limits opens again."""
    if build.status == "handed over":
        return
    limits = {
        "front_kg": build.front_axle_limit_kg,
        "rear_kg": build.rear_axle_limit_kg,
        "whole_kg": build.plated_mass_kg,
    }
    for check in HoldPoint.objects.filter(task__build=build, task__removed_at=None, kind="weighing"):
        before = check.fields
        check.fields = [f | ({"most": limits[f["key"]]} if limits.get(f["key"]) else {}) for f in before]
        if check.fields != before:
            check.save(update_fields=["fields"])
            if check.lets_followers_start:
                open_again(check, "the limits on the van's plate were changed", by, now)
