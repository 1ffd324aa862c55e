"""Lengths of a build: what is cut from which length, runs listed by the owner, one piece never joined."""

from __future__ import annotations

import uuid
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from builds.actions.door import Gone, Refused
from builds.actions.runs import add_run, remove_run
from builds.models import Material, Need, Run
from builds.queries.cut_lengths import length_plans
from tests import cast


@pytest.fixture
def build(shop):
    return cast.make_build()


def make_length(key="batten", **more) -> Material:
    defaults = {"name": key.title(), "form": "length", "unit": "m", "pack": Decimal("2.4"), "length_mm": 2400}
    return Material.objects.create(key=key, **(defaults | more))


def run(build, material, length, now, **more):
    return add_run(
        build=build, material=material, name=more.pop("name", "Rail"), length=length, now=now, by=None, **more
    )


def the_plan(build, shop):
    (plan,) = length_plans(build, shop)
    return plan


def cuts(plan):
    return [(row.times, row.pieces, row.rest) for row in plan.patterns]


def test_runs_are_cut_from_as_few_lengths_as_can_be(build, shop, now):
    batten = make_length()
    run(build, batten, "1200", now, count=2)
    run(build, batten, "1190", now, count=2, name="Ledge")

    plan = the_plan(build, shop)

    assert (plan.count, plan.is_proven) == (
        2,
        True,
    )  # 1200 and 1190 with a saw cut go into 2400, two 1200 don't
    assert cuts(plan) == [(2, "1200, 1190", "4")]


def test_a_run_longer_than_the_stock_is_joined_unless_it_is_one_piece(build, shop, now):
    batten = make_length()
    run(build, batten, "3 m", now)
    assert cuts(the_plan(build, shop)) == [(1, "2400", "0"), (1, "600", "1797")]

    run(build, batten, "3 m", now, name="Gas pipe", one_piece=True)

    plan = the_plan(build, shop)
    assert [line.name for line in plan.too_long] == ["Gas pipe"]
    assert plan.count == 2


def test_needs_by_the_metre_are_cut_as_they_come_until_runs_are_listed(build, shop, now):
    batten = make_length()
    Need.objects.create(build=build, material=batten, quantity=Decimal("6.000"), rule="three rows")
    assert the_plan(build, shop).count == 3

    run(build, batten, "2000", now, count=4)

    plan = the_plan(build, shop)
    assert [(line.count, line.length) for line in plan.lines] == [(4, "2000")]
    assert plan.count == 4


def test_parts_of_units_are_cut_in_one_piece(build, shop, now):
    strip = make_length("strip")
    cast.make_part(cast.make_unit(build), strip, "Upright", 596, 40, count=8)

    assert cuts(the_plan(build, shop)) == [(2, "4 × 596", "4")]


def test_a_coil_is_cut_without_a_saw_cut(build, shop, now):
    cable = make_length("cable", length_mm=None, pack=Decimal(50))
    run(build, cable, "25 m", now, count=2)

    assert cuts(the_plan(build, shop)) == [(1, "2 × 25000", "0")]


@pytest.mark.parametrize(
    ("length", "words"),
    [
        ("0", "between 1 mm and 100 m"),
        ("101 m", "between 1 mm and 100 m"),
        ("long", "no quantity"),
        ("2 kg", "not in kg"),
    ],
)
def test_lengths_that_can_not_be_are_refused(build, now, length, words):
    with pytest.raises(Refused, match=words):
        run(build, make_length(), length, now)


def test_a_material_not_sold_in_lengths_is_refused(build, now):
    with pytest.raises(Refused, match="not sold in lengths"):
        run(build, cast.make_board(), "2000", now)


def test_the_same_form_twice_lists_one(build, now):
    batten, token = make_length(), uuid.uuid4()

    one, two = (run(build, batten, "2000", now, token=token) for _ in range(2))

    assert one == two


def test_a_run_taken_off_by_somebody_else_is_gone(build, now):
    listed = run(build, make_length(), "2000", now)
    remove_run(run=listed, now=now, by=None)

    with pytest.raises(Gone):
        remove_run(run=listed, now=now, by=None)


def test_the_owner_lists_a_run_and_takes_it_off(owner_client, build):
    batten = make_length()
    page = reverse("owner:build-lengths", args=[build.pk])
    typed = {"material": batten.pk, "name": "Ceiling row", "length": "2000", "count": "3"}

    owner_client.post(reverse("owner:run-add", args=[build.pk]), typed)

    shown = owner_client.get(page).content.decode()
    assert "3 × Ceiling row" in shown
    assert "3 lengths of 2400 mm" in shown
    listed = Run.objects.get()
    owner_client.post(reverse("owner:run-off", args=[build.pk, listed.pk]), {"version": listed.version})
    assert "No lengths yet." in owner_client.get(page).content.decode()


def test_a_refused_run_keeps_what_was_typed(owner_client, build):
    batten = make_length()
    typed = {"material": batten.pk, "name": "Ceiling row", "length": "far", "count": "3"}

    response = owner_client.post(reverse("owner:run-add", args=[build.pk]), typed)

    assert response.status_code == 422
    assert 'value="far"' in response.content.decode()


def test_a_run_of_another_build_is_not_found(owner_client, build, now):
    listed = run(build, make_length(), "2000", now)
    other = cast.make_build("Plover")

    assert owner_client.post(reverse("owner:run-off", args=[other.pk, listed.pk])).status_code == 404


def test_the_page_asks_as_much_for_three_as_for_one(owner_client, build, now):
    batten = make_length()
    run(build, batten, "2000", now)
    page = reverse("owner:build-lengths", args=[build.pk])
    with CaptureQueriesContext(connection) as one:
        owner_client.get(page)
    for name in ("Ledge", "Row"):
        run(build, make_length(name.lower()), "1500", now, name=name)

    with CaptureQueriesContext(connection) as three:
        owner_client.get(page)

    assert len(one) == len(three) <= 12
