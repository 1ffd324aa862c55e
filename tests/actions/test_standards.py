"""The standard library, edited by the shop."""

from __future__ import annotations

from decimal import Decimal

import pytest

from builds.actions import standard_kinds, standards
from builds.actions.checked import edition
from builds.actions.door import Refused, Stale
from builds.actions.standards import Joined
from builds.models import (
    InstallationKind,
    Journal,
    Shop,
    StandardHoldPoint,
    StandardLink,
    StandardTask,
    UnitKind,
)
from tests.cast import NOW


def standard(key: str, **more) -> StandardTask:
    fields = {
        "name": key.capitalize(),
        "trade": "joinery",
        "place": "bench",
        "hours_low": Decimal("0.75"),
        "hours_likely": Decimal(1),
        "hours_high": Decimal("1.5"),
        "order": StandardTask.objects.count(),
    }
    return StandardTask.objects.create(key=key, **(fields | more))


@pytest.fixture
def row_of_three(shop):
    """Cut before glue before fit."""
    cut, glue, fit = standard("cut"), standard("glue"), standard("fit")
    StandardLink.objects.create(before=cut, after=glue)
    StandardLink.objects.create(before=glue, after=fit, wait_hours=24)
    return cut, glue, fit


def change(task, owner, seen=None, **fields):
    return standards.change_task(task=task, fields=fields, now=NOW, by=owner, seen=seen)


def test_a_standard_task_is_changed_and_no_build_with_it(row_of_three, owner, small_build):
    before = Shop.objects.get().revision
    hours = list(small_build.tasks.values_list("hours", flat=True))

    change(row_of_three[0], owner, hours_likely=Decimal(2), hours_high=Decimal(3), crew=2, place="inside")

    kept = StandardTask.objects.get(key="cut")
    assert (kept.hours_likely, kept.crew, kept.place) == (Decimal(2), 2, "inside")
    assert list(small_build.tasks.values_list("hours", flat=True)) == hours
    assert Shop.objects.get().revision == before
    assert Journal.objects.get().what == "Changed the standard task Cut"


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"name": " "}, "name"),
        ({"hours_low": Decimal(0)}, "hours_low"),
        ({"hours_likely": Decimal("-1")}, "hours_likely"),
        ({"hours_likely": Decimal("0.5")}, "hours_likely"),
        ({"hours_high": Decimal("0.9")}, "hours_high"),
        ({"hours_high": Decimal(900)}, "hours_high"),
        ({"crew": 0}, "crew"),
        ({"crew": 9}, "crew"),
        ({"trade": "alchemy"}, "trade"),
        ({"place": "moon"}, "place"),
        ({"caution": "nothing"}, "caution"),
        ({"rack_hours": Decimal(-1)}, "rack_hours"),
        ({"reminder": "x" * 201}, "reminder"),
    ],
)
def test_a_standard_task_that_can_not_be_is_refused_at_the_field(row_of_three, owner, fields, field):
    with pytest.raises(Refused) as refused:
        change(row_of_three[0], owner, **fields)

    assert refused.value.field == field
    assert StandardTask.objects.get(key="cut").hours_likely == 1


def test_a_change_on_an_old_page_is_refused(row_of_three, owner):
    seen = edition(StandardTask.objects.get(key="cut"))
    change(row_of_three[0], owner, crew=2)

    with pytest.raises(Stale):
        change(row_of_three[0], owner, seen=seen, crew=3)


def add(owner, name="Sand", scope="van", after=(), before=(), **more):
    fields = {
        "trade": "joinery",
        "place": "bench",
        "hours_low": Decimal(1),
        "hours_likely": Decimal(2),
        "hours_high": Decimal(3),
    }
    return standards.add_task(
        name=name, scope=scope, fields=fields | more, after=after, before=before, now=NOW, by=owner
    )


def test_a_new_task_stands_between_those_it_was_put_between(row_of_three, owner):
    add(owner, after=[Joined("cut")], before=[Joined("glue", Decimal(2))])

    links = {(link.before_id, link.after_id): link.wait_hours for link in StandardLink.objects.all()}
    assert links[("cut", "sand")] == 0
    assert links[("sand", "glue")] == 2


def test_a_loop_is_refused_with_its_path_and_nothing_is_kept(row_of_three, owner):
    with pytest.raises(Refused) as refused:
        add(owner, after=[Joined("fit")], before=[Joined("cut")])

    assert refused.value.words == "That makes a loop: Sand → Cut → Glue → Fit → Sand."
    assert refused.value.field == "before"
    assert StandardTask.objects.count() == 3
    assert StandardLink.objects.count() == 2


def test_a_link_that_makes_a_loop_is_refused_with_its_path(row_of_three, owner):
    cut, _, fit = row_of_three

    with pytest.raises(Refused) as refused:
        standards.add_link(before=fit, after=cut, now=NOW, by=owner)

    assert refused.value.words == "That makes a loop: Fit → Cut → Glue → Fit."


@pytest.mark.parametrize(
    ("scope", "name", "field"),
    [
        ("unit:nothing", "Sand", "scope"),
        ("installation:*", "Sand", "scope"),
        ("everything", "Sand", "scope"),
        ("van", "Cut", "name"),
        ("van", "", "name"),
    ],
)
def test_a_new_task_that_can_not_be_is_refused(row_of_three, owner, scope, name, field):
    with pytest.raises(Refused) as refused:
        add(owner, name=name, scope=scope)

    assert refused.value.field == field


def test_a_task_may_belong_to_a_kind_of_unit_or_installation(row_of_three, owner):
    unit_kind()
    InstallationKind.objects.create(key="gas", name="Gas")

    scopes = ("unit:seat_box", "unit:*", "installation:gas", "furniture")
    for n, scope in enumerate(scopes):
        add(owner, name=f"Sand {n}", scope=scope)

    assert StandardTask.objects.filter(scope__in=scopes).count() == 4


def test_the_wait_of_a_link_is_changed(row_of_three, owner):
    link = StandardLink.objects.get(before="glue")

    standards.change_link(link=link, fields={"wait_hours": Decimal(36)}, now=NOW, by=owner)

    assert StandardLink.objects.get(before="glue").wait_hours == 36
    assert Journal.objects.get().what == "Fit waits 36 h after Glue"


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"wait_hours": Decimal(-1)}, "wait_hours"),
        ({"wait_hours": Decimal(5000)}, "wait_hours"),
        ({"latest_hours": Decimal(12)}, "latest_hours"),
        ({"match": "some"}, "match"),
    ],
)
def test_a_wait_that_can_not_be_is_refused_at_the_field(row_of_three, owner, fields, field):
    with pytest.raises(Refused) as refused:
        standards.change_link(link=StandardLink.objects.get(before="glue"), fields=fields, now=NOW, by=owner)

    assert refused.value.field == field


def test_a_link_is_not_made_twice_and_may_be_removed(row_of_three, owner):
    cut, glue, _ = row_of_three
    with pytest.raises(Refused):
        standards.add_link(before=cut, after=glue, now=NOW, by=owner)

    standards.remove_link(link=StandardLink.objects.get(before="cut"), now=NOW, by=owner)
    standards.add_link(before=cut, after=glue, now=NOW, by=owner)

    assert StandardLink.objects.count() == 2


def test_a_withdrawn_task_comes_back(row_of_three, owner):
    glue = row_of_three[1]

    standards.withdraw_task(task=glue, now=NOW, by=owner)
    assert StandardTask.objects.get(key="glue").withdrawn

    standards.withdraw_task(task=glue, withdrawn=False, now=NOW, by=owner)
    assert not StandardTask.objects.get(key="glue").withdrawn


def test_a_check_that_no_build_goes_without_is_not_withdrawn(shop, owner):
    StandardHoldPoint.objects.create(key="gas", name="Gas tightness", may_overrule=False)
    tested = standard("test-gas", hold_point="gas")

    with pytest.raises(Refused):
        standards.withdraw_task(task=tested, now=NOW, by=owner)

    assert not StandardTask.objects.get().withdrawn


def unit_kind() -> UnitKind:
    return UnitKind.objects.create(
        key="seat_box",
        name="Seat box",
        width_mm=1000,
        depth_mm=550,
        height_mm=480,
        least_mm=[400, 300, 300],
        most_mm=[2200, 900, 700],
    )


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"width_mm": 2300}, "width_mm"),
        ({"height_mm": 100}, "height_mm"),
        ({"work": Decimal(0)}, "work"),
        ({"name": ""}, "name"),
    ],
)
def test_a_kind_of_unit_that_can_not_be_is_refused_at_the_field(shop, owner, fields, field):
    with pytest.raises(Refused) as refused:
        standard_kinds.change_unit_kind(kind=unit_kind(), fields=fields, now=NOW, by=owner)

    assert refused.value.field == field


def test_kinds_are_changed_and_withdrawn(shop, owner):
    unit = unit_kind()
    gas = InstallationKind.objects.create(key="gas", name="Gas")

    standard_kinds.change_unit_kind(kind=unit, fields={"width_mm": 1200}, now=NOW, by=owner)
    standard_kinds.change_installation_kind(kind=gas, fields={"usual": False}, now=NOW, by=owner)
    for kind in (unit, gas):
        standard_kinds.withdraw_kind(kind=kind, now=NOW, by=owner)

    kept = UnitKind.objects.get()
    assert (kept.width_mm, kept.withdrawn) == (1200, True)
    kept = InstallationKind.objects.get()
    assert (kept.usual, kept.withdrawn) == (False, True)


SIDE_BOX = {"name": "Side box", "width_mm": 900, "depth_mm": 400, "height_mm": 450}


def test_a_new_kind_of_unit_is_made_like_another_in_sizes_around_its_own(shop, owner):
    UnitKind.objects.filter(pk=unit_kind().pk).update(made_as="carcass")

    kind = standard_kinds.add_unit_kind(fields=SIDE_BOX, made_as="carcass", now=NOW, by=owner)

    assert (kind.key, kind.made_as, kind.least_mm) == ("side_box", "carcass", [300, 133, 150])
    assert kind.most_mm == [2700, 1200, 1350]


@pytest.mark.parametrize(
    ("fields", "made_as", "field"),
    [
        ({}, "magic", "made_as"),
        ({"name": ""}, "carcass", "name"),
        ({"name": "seat BOX"}, "carcass", "name"),
        ({"width_mm": 9000}, "carcass", "width_mm"),
        ({"width_mm": 5}, "carcass", "width_mm"),
    ],
)
def test_a_new_kind_of_unit_that_can_not_be_is_refused_at_the_field(shop, owner, fields, made_as, field):
    unit_kind()

    with pytest.raises(Refused) as refused:
        standard_kinds.add_unit_kind(fields=SIDE_BOX | fields, made_as=made_as, now=NOW, by=owner)

    assert refused.value.field == field
    assert UnitKind.objects.count() == 1


def test_a_new_kind_of_installation_may_be_what_a_task_comes_with(shop, owner):
    standard_kinds.add_installation_kind(
        fields={"name": "Radio", "usual": False, "usual_count": 1}, now=NOW, by=owner
    )

    add(owner, name="Fit the radio", scope="installation:radio")

    assert StandardTask.objects.get().scope == "installation:radio"


def test_a_unit_and_an_installation_of_one_name_have_keys_of_their_own(shop, owner):
    InstallationKind.objects.create(key="side_box", name="Side box")
    unit_kind()

    kind = standard_kinds.add_unit_kind(fields=SIDE_BOX, made_as="carcass", now=NOW, by=owner)

    assert kind.key == "side_box_of_our_own"
