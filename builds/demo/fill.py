"""Fills an empty database with the demo workshop, by calling actions only; dates are relative to today."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from datetime import date, datetime, time, timedelta

from builds.actions import decisions, deliveries
from builds.actions.builds import NewBuild, start_build, tell_promise
from builds.actions.chances import work_out_chances
from builds.actions.cutting import lay_out
from builds.actions.door import Refused
from builds.actions.floor import By, add_photo, add_snag, bulk_tick, stop_task
from builds.actions.hold_points import pass_check
from builds.actions.library import load_standard_library
from builds.actions.planning import planned_by_hand, replan
from builds.actions.remedies import work_out_remedies
from builds.actions.sheets import set_aim
from builds.actions.telling import tell_the_crew
from builds.actions.what_if import try_change
from builds.demo.history import COMPETENT, READINGS, History
from builds.demo.people import Workshop, make_workshop
from builds.demo.pictures import draw_picture
from builds.demo.store import fill_store
from builds.demo.vans import VANS, DemoVan
from builds.models import BodySize, Build, Delivery, Material, PlanRow, PlanState, Task
from builds.queries.opening import monday_of, opening_times
from builds.templatetags.words import day as day_words

WEEKS_OF_HISTORY = 5
VAN_FIELDS = (
    "wheelbase_mm", "overall_length_mm", "load_length_mm", "load_width_mm", "load_height_mm",
    "rear_overhang_mm", "plated_mass_kg", "front_axle_limit_kg", "rear_axle_limit_kg", "arriving_mass_kg",
)  # fmt: skip


def fill_demo(now: datetime, say: Callable[[str], None] = lambda _: None) -> None:
    """Makes the workshop, its vans and five weeks of history up to `now`."""
    with planned_by_hand():
        first = monday_of(now.date()) - timedelta(weeks=WEEKS_OF_HISTORY)
        start = datetime.combine(first - timedelta(days=3), time(17), tzinfo=now.tzinfo)
        load_standard_library(now=start)
        workshop = make_workshop(first, start)
        builds = {van.name: _begin(van, first, start, workshop) for van in VANS}
        _promise(builds, start, workshop)
        for week in range(WEEKS_OF_HISTORY + 1):
            monday = first + timedelta(weeks=week)
            say(f"  the week of {monday:%d %b}")
            _week_of_office(builds, week, monday, workshop, now)
            until = min(now, datetime.combine(monday + timedelta(days=7), time(), tzinfo=now.tzinfo))
            History(workshop, until, seed=week).play(monday)
        say("  stock, offcuts and orders")
        fill_store(builds, workshop.owner, now)
        _lay_out(builds, workshop, now)
        _loose_ends(builds, workshop, now)
        tell_the_crew(now=now, user=workshop.owner)
    replan(now=now)
    _try_something(builds, now)
    work_out_chances(now=now)
    work_out_remedies(now=now)


def _try_something(builds: dict[str, Build], now: datetime) -> None:
    """A copy to look at: what if the windows came three weeks later and the van asked about next week?"""
    waited_for = Delivery.objects.filter(build=builds["Teal"], arrived_on=None, tasks__isnull=False)
    windows = waited_for.order_by("-expected_on", "pk").first()
    asked = next((b for b in builds.values() if b.status == "asked"), None)
    if windows is not None:
        day = windows.expected_on + timedelta(weeks=3)
        words = f"{windows.what} (Teal): to come {day_words(day)}"
        try_change(
            change={"kind": "late", "delivery": windows.pk, "day": day.isoformat(), "words": words}, now=now
        )
    if asked is not None:
        day = monday_of(now.date()) + timedelta(weeks=1)
        words = f"{asked.name} is taken in and comes {day_words(day)}"
        try_change(
            change={"kind": "taken in", "build": asked.pk, "day": day.isoformat(), "words": words}, now=now
        )


def _begin(van: DemoVan, first: date, now: datetime, workshop: Workshop) -> Build:
    body = BodySize.objects.get(key=van.body)
    arrives = first + timedelta(weeks=van.arrives_week)
    asked = van.status == "asked"
    facts = {name: getattr(body, name) for name in VAN_FIELDS}
    new = NewBuild(
        name=van.name,
        customer_name=van.customer,
        customer_email=van.email,
        status=van.status,
        van=facts | {"body_name": body.name, "registration": van.registration},
        arrives_on=None if asked else arrives,
        price_agreed=van.price,
        notes=van.notes,
        units=van.units,
        installations=van.installations,
    )
    build = start_build(new=new, now=now, by=workshop.owner)
    if van.phases_before:
        _done_before(build, van.phases_before, now, workshop)
    return build


def _done_before(build: Build, phases: tuple[str, ...], now: datetime, workshop: Workshop) -> None:
    """Ticks off these phases and signs their checks, each after what comes before it."""
    by = By(user=workshop.owner)
    named = f"{COMPETENT['gas']}; {COMPETENT['mains']}"
    tasks = Task.objects.filter(build=build, phase__in=phases).order_by("order")
    while True:
        done = bulk_tick(build=build, tasks=tasks, user=workshop.owner, now=now, competent_person=named)
        held = {task.pk for task, _ in done.held}
        ready = [task for task in done.checks_left if task.pk not in held]
        if not done.ticked or not ready:
            return
        for task in ready:
            check = task.hold_point
            if check.photo_wanted:
                picture = draw_picture("gauge", seed=task.pk)
                add_photo(file=picture, build=build, task=task, hold_point=check, by=by, now=now)
            with suppress(Refused):
                pass_check(
                    hold_point=check,
                    readings=READINGS[check.kind],
                    by=by,
                    now=now,
                    competent_person=COMPETENT.get(check.licensed_trade, ""),
                )


def _promise(builds: dict[str, Build], now: datetime, workshop: Workshop) -> None:
    """Promises each van what the first plan gives, and some days more; a Friday."""
    replan(now=now)
    times = opening_times()
    handovers = PlanState.objects.get(pk=1).handovers
    for van in VANS:
        build = builds[van.name]
        planned = handovers.get(str(build.pk))
        if planned:
            day = datetime.fromisoformat(planned).date() + timedelta(days=van.promise_days)
            friday = monday_of(day) + timedelta(days=4)
            while not times.is_open(friday):
                friday += timedelta(days=1)
            tell_promise(build=build, promised_on=friday, now=now, by=workshop.owner)


def _week_of_office(
    builds: dict[str, Build], week: int, monday: date, workshop: Workshop, now: datetime
) -> None:
    """What the owner does at the desk as a week begins: orders put in, parcels booked, questions asked."""
    at = datetime.combine(monday, time(7, 30), tzinfo=now.tzinfo)
    for van in VANS:
        build = builds[van.name]
        for parcel in van.parcels:
            if week == max(0, parcel.week - 3):
                _order(build, parcel, monday - timedelta(weeks=week), at, workshop)
            if week == parcel.week and parcel.came and week <= WEEKS_OF_HISTORY:
                _take_in(build, parcel.what, monday + timedelta(days=parcel.weekday), now, workshop)
            if week == parcel.week and parcel.put_off_weeks:
                row = Delivery.objects.get(build=build, what=parcel.what)
                later = row.expected_on + timedelta(weeks=parcel.put_off_weeks)
                deliveries.change_date(delivery=row, expected_on=later, now=at, by=workshop.owner)
        for question in van.questions:
            if week == max(0, min(question.week - 2, WEEKS_OF_HISTORY)):
                _ask(build, question, monday - timedelta(weeks=week), at, workshop)
        if van.status == "agreed" and van.arrives_week <= week:
            set_aim(build=build, monday=monday, aim=_aim(build), now=at, by=workshop.owner)


def _order(build: Build, parcel, first: date, at: datetime, workshop: Workshop) -> None:
    deliveries.expect_delivery(
        build=build,
        what=parcel.what,
        expected_on=first + timedelta(weeks=parcel.week, days=parcel.weekday),
        tasks=_tasks(build, parcel.tasks),
        from_customer=parcel.from_customer,
        material=Material.objects.filter(key=parcel.material).first(),
        now=at,
        by=workshop.owner,
    )


def _take_in(build: Build, what: str, day: date, now: datetime, workshop: Workshop) -> None:
    at = datetime.combine(day, time(7, 40), tzinfo=now.tzinfo)
    row = Delivery.objects.filter(build=build, what=what).first()
    if row is not None and at <= now:
        deliveries.put_on_shelf(delivery=row, on=day, now=at, by=workshop.owner)


def _ask(build: Build, question, first: date, at: datetime, workshop: Workshop) -> None:
    needed_by = first + timedelta(weeks=question.week, days=question.weekday)
    row = decisions.ask(
        build=build,
        what=question.what,
        needed_by=needed_by,
        tasks=_tasks(build, question.tasks),
        now=at,
        by=workshop.owner,
    )
    if question.answer:
        decisions.decide(decision=row, answer=question.answer, now=at, by=workshop.owner)


def _tasks(build: Build, standards: tuple[str, ...]) -> list[Task]:
    return list(Task.objects.unfinished().filter(build=build, standard__in=standards))


def _aim(build: Build) -> str:
    row = PlanRow.objects.filter(task__build=build).exclude(task__state="done").order_by("start").first()
    if row is None:
        return "Get ready and make a start"
    return f"{row.task.phase}: {row.task.name[:1].lower()}{row.task.name[1:]}"[:120]


def _lay_out(builds: dict[str, Build], workshop: Workshop, now: datetime) -> None:
    """Lays out the vans whose parts are still to cut: the first alone, the next two together."""
    to_cut = Task.objects.unfinished().filter(standard="cut", build__status="agreed").values("build")
    vans = [build for build in builds.values() if Build.objects.filter(pk__in=to_cut, pk=build.pk).exists()]
    for group in (vans[:1], vans[1:3]):
        if group:
            lay_out(builds=group, now=now, by=workshop.owner)


def _loose_ends(builds: dict[str, Build], workshop: Workshop, now: datetime) -> None:
    """One task stopped, one snag open: a shop has loose ends."""
    replan(now=now)
    wren = workshop.people["Wren Alder"]
    by = By(person=wren, tablet=workshop.tablet)
    row = (
        PlanRow.objects.filter(task__build=builds["Kestrel"], task__state="to do", start__gte=now)
        .filter(task__hold_point=None, task__trade__in=["joinery", "trim", "finishing"])
        .order_by("start")
        .first()
    )
    if row is not None:
        stop_task(task=row.task, reason="broken or wrong: the pack was a size too small", by=by, now=now)
    add_snag(build=builds["Heron"], text="Scratch on the left wall panel, behind the seat", by=by, now=now)


def today_at(now: datetime) -> datetime:
    """`now` in the shop's zone, to the minute."""
    return now.astimezone(opening_times().zone).replace(second=0, microsecond=0)
