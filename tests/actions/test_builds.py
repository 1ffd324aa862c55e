"""Beginning a build: the network that comes of what was picked, and what is refused."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from builds.actions.builds import (
    NewBuild,
    ReturnedJob,
    change_build,
    drop,
    hand_over,
    start_build,
    take_back,
    tell_promise,
)
from builds.actions.composing import InstallationChoice, UnitChoice, add_to_build, take_out
from builds.actions.door import Refused
from builds.actions.library import load_standard_library
from builds.engines.composing.linking import find_loop
from builds.engines.composing.network import ComposedLink
from builds.models import Build, HoldPoint, Journal, Link, PromiseTold, Task

SEAT_BOX = UnitChoice("seat_box", "Seat box, left", 1000, 550, 480)
KITCHEN = UnitChoice("kitchen", "Kitchen", 1200, 500, 880)
USUAL = ("floor", "insulation", "lining", "waste", "twelve_volt", "water", "gas")


@pytest.fixture
def library(shop, now):
    load_standard_library(now=now)


def new(**more) -> NewBuild:
    usual = {
        "name": "Heron",
        "customer_name": "The Ashdowns",
        "arrives_on": date(2027, 3, 8),
        "promised_on": date(2027, 5, 28),
        "units": (SEAT_BOX, KITCHEN),
        "installations": tuple(InstallationChoice(kind) for kind in USUAL),
        "van": {"plated_mass_kg": 3500, "front_axle_limit_kg": 1850, "rear_axle_limit_kg": 2000},
    }
    return NewBuild(**(usual | more))


def links_of(build: Build) -> list[ComposedLink]:
    rows = Link.objects.filter(before__build=build, before__removed_at=None, after__removed_at=None)
    return [ComposedLink(str(a), str(b)) for a, b in rows.values_list("before_id", "after_id")]


def dangling(build: Build) -> tuple[set[str], set[str]]:
    """Standard keys of tasks that wait for nothing, and of those nothing waits for."""
    links = links_of(build)
    afters, befores = {int(k.after) for k in links}, {int(k.before) for k in links}
    tasks = Task.objects.kept().filter(build=build)
    return (
        {t.standard for t in tasks if t.pk not in afters},
        {t.standard for t in tasks if t.pk not in befores},
    )


def test_a_build_begins_with_a_whole_network(library, owner, now):
    build = start_build(new=new(), now=now, by=owner)

    keys = set(Task.objects.filter(build=build).values_list("standard", flat=True))
    assert {"brief", "cut", "coat_1", "fit", "gas_tightness", "handover"} <= keys
    assert find_loop(links_of(build)) is None
    assert dangling(build) == ({"brief"}, {"handover"})
    assert Task.objects.filter(build=build, standard="cut").count() == 2


def test_checks_take_their_limits_from_the_vans_plate(library, owner, now):
    build = start_build(new=new(), now=now, by=owner)

    fields = {f["key"]: f for f in HoldPoint.objects.get(task__build=build, kind="weighing").fields}

    assert (fields["front_kg"]["most"], fields["rear_kg"]["most"], fields["whole_kg"]["most"]) == (
        1850,
        2000,
        3500,
    )


def weighed(build: Build) -> HoldPoint:
    check = HoldPoint.objects.select_related("task").get(task__build=build, kind="weighing")
    HoldPoint.objects.filter(pk=check.pk).update(state="passed")
    return check


def test_another_limit_on_the_vans_plate_opens_a_signed_weighing_again(library, owner, now):
    build = start_build(new=new(), now=now, by=owner)
    check = weighed(build)

    change_build(build=build, changes={"notes": "Blue"}, now=now, by=owner)
    assert HoldPoint.objects.get(pk=check.pk).state == "passed"
    change_build(build=build, changes={"plated_mass_kg": 3300}, now=now, by=owner)

    check.refresh_from_db()
    assert (check.state, check.records.get().note) == (
        "reopened",
        "the limits on the van's plate were changed",
    )
    assert {f["key"]: f for f in check.fields}["whole_kg"]["most"] == 3300


def test_a_weighing_of_a_van_that_was_handed_over_stays_as_it_was_signed(library, owner, now):
    build = start_build(new=new(), now=now, by=owner)
    check = weighed(build)
    Build.objects.update(status="handed over")

    change_build(build=build, changes={"plated_mass_kg": 3300}, now=now, by=owner)

    assert HoldPoint.objects.get(pk=check.pk).state == "passed"


def test_leaving_an_installation_out_closes_the_gap(library, owner, now):
    without_gas = tuple(InstallationChoice(k) for k in USUAL if k != "gas")

    build = start_build(new=new(installations=without_gas), now=now, by=owner)

    assert not Task.objects.filter(build=build, trade_id="gas").exists()
    assert dangling(build) == ({"brief"}, {"handover"})


def test_the_same_form_sent_twice_makes_one_build(library, owner, now):
    token = uuid4()

    first = start_build(new=new(), token=token, now=now, by=owner)
    second = start_build(new=new(), token=token, now=now, by=owner)

    assert first == second
    assert Build.objects.count() == 1


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"promised_on": date(2027, 3, 1)}, "promised_on"),
        ({"arrives_on": None}, "arrives_on"),
        ({"survey_on": date(2027, 4, 1)}, "survey_on"),
        ({"promised_on": date(2077, 3, 1)}, "promised_on"),
        ({"name": "   "}, "name"),
        ({"customer_name": ""}, "customer_name"),
        ({"customer_email": "no address"}, "customer_email"),
        ({"units": (), "installations": ()}, "units"),
        ({"units": (UnitChoice("seat_box", "", 0, 550, 480),)}, "units"),
        ({"units": (UnitChoice("piano", "", 900, 550, 480),)}, "units"),
        ({"installations": (InstallationChoice("water"),)}, "installations"),
        (
            {"installations": (InstallationChoice("solar", 900), InstallationChoice("twelve_volt"))},
            "installations",
        ),
        ({"price_agreed": Decimal("-1")}, "price_agreed"),
        ({"van": {"plated_mass_kg": 3500, "arriving_mass_kg": 3600}}, "arriving_mass_kg"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field_and_leaves_nothing(library, owner, now, change, field):
    with pytest.raises(Refused) as refusal:
        start_build(new=new(**change), now=now, by=owner)

    assert refusal.value.field == field
    assert not Build.objects.exists()
    assert not Task.objects.exists()


def test_an_installation_taken_out_and_put_in_again_brings_its_tasks_back(library, owner, now):
    build = start_build(new=new(), now=now, by=owner)
    before = Task.objects.kept().filter(build=build).count()

    take_out(owner=build.installations.get(kind="gas"), now=now, by=owner)
    without = Task.objects.kept().filter(build=build)
    assert not without.filter(trade_id="gas").exists()
    assert dangling(build) == ({"brief"}, {"handover"})
    add_to_build(build=build, installations=[InstallationChoice("gas")], now=now, by=owner)

    assert Task.objects.kept().filter(build=build).count() == before
    assert find_loop(links_of(build)) is None
    assert dangling(build) == ({"brief"}, {"handover"})


def test_what_another_installation_needs_stays(library, owner, now):
    build = start_build(new=new(), now=now, by=owner)

    with pytest.raises(Refused, match="Fresh water needs 12 V"):
        take_out(owner=build.installations.get(kind="twelve_volt"), now=now, by=owner)


def test_every_promise_stays_on_record_with_its_reason(library, owner, now):
    build = start_build(new=new(), now=now, by=owner)

    with pytest.raises(Refused, match="why"):
        tell_promise(build=build, promised_on=date(2027, 6, 11), now=now, by=owner)
    tell_promise(
        build=build,
        promised_on=date(2027, 6, 11),
        why="a window came broken",
        now=now + timedelta(days=1),
        by=owner,
    )

    told = list(PromiseTold.objects.filter(build=build).values_list("promised_on", "why"))
    assert told == [
        (date(2027, 6, 11), "a window came broken"),
        (date(2027, 5, 28), "at the order"),
    ]


def test_a_build_is_not_handed_over_before_all_is_done(library, owner, now):
    build = start_build(new=new(), now=now, by=owner)

    with pytest.raises(Refused, match="tasks are not done"):
        hand_over(build=build, on=date(2027, 5, 28), now=now, by=owner)


def test_a_handed_over_van_comes_back_as_a_small_build(library, owner, now):
    build = start_build(new=new(), now=now, by=owner)
    Build.objects.filter(pk=build.pk).update(status="handed over")
    job = ReturnedJob("Rehang a door", "joinery", "inside", Decimal("1.5"))

    back = take_back(
        build=build, arrives_on=date(2027, 7, 5), promised_on=None, jobs=[job], now=now, by=owner
    )

    assert back.return_of == build
    assert [(t.name, t.warranty) for t in back.tasks.all()] == [("Rehang a door", True)]


def test_a_dropped_build_leaves_the_plan_but_keeps_its_record(library, owner, now):
    build = start_build(new=new(), now=now, by=owner)

    drop(build=build, now=now, by=owner)

    assert not Build.objects.to_plan().exists()
    assert Journal.objects.filter(build=build).count() == 2
