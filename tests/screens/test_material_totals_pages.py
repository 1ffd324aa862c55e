"""The owner's pages of what is needed and when to order it."""

from __future__ import annotations

import uuid
from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from builds.actions.builds import NewBuild, start_build
from builds.actions.composing import InstallationChoice, UnitChoice
from builds.actions.library import load_standard_library
from builds.models import Build, Material, Need
from tests import cast


@pytest.fixture
def library(shop, joiner, now):
    load_standard_library(now=now)


def begin(name: str, owner) -> Build:
    new = NewBuild(
        name=name,
        customer_name="The Ashdowns",
        arrives_on=date(2027, 3, 8),
        van={"load_length_mm": 3000, "load_width_mm": 1800, "load_height_mm": 1900},
        units=(UnitChoice("seat_box", "Seat box", 1000, 550, 480),),
        installations=(InstallationChoice("floor"),),
    )
    return start_build(new=new, now=cast.NOW, by=owner)


@pytest.fixture
def build(library, owner) -> Build:
    return begin("Heron", owner)


def queries_of(client, url: str) -> int:
    with CaptureQueriesContext(connection) as captured:
        assert client.get(url).status_code == 200
    return len(captured)


@pytest.mark.parametrize("by", ["day", "supplier", "all", "nonsense"])
def test_the_page_asks_as_much_for_three_vans_as_for_one(owner_client, build, owner, by):
    url = f"{reverse('owner:material')}?by={by}"
    one = queries_of(owner_client, url)

    begin("Teal", owner)
    begin("Kestrel", owner)

    assert queries_of(owner_client, url) == one <= 12


def test_an_empty_shop_is_told_where_material_comes_from(owner_client):
    page = owner_client.get(reverse("owner:material")).content.decode()

    assert "Nothing needed yet." in page


def test_a_build_lists_its_material_by_supplier(owner_client, build):
    page = owner_client.get(reverse("owner:build-material", args=[build.pk])).content.decode()

    assert "Sawpit Boards" in page
    assert "Birch ply 12 mm" in page
    assert "4 sheets" in page


def test_a_build_asks_as_much_for_many_needs_as_for_few(owner_client, build, owner):
    url = reverse("owner:build-material", args=[build.pk])
    many = queries_of(owner_client, url)

    Need.objects.filter(build=build).exclude(pk=Need.objects.filter(build=build).first().pk).delete()

    assert queries_of(owner_client, url) == many <= 12


def typed(**more) -> dict:
    screws = Material.objects.get(key="screws")
    return {"material": screws.pk, "quantity": "40", "task": "", "token": str(uuid.uuid4())} | more


def test_a_need_typed_twice_with_one_form_is_there_once(owner_client, build):
    url, sent = reverse("owner:need-add", args=[build.pk]), typed()

    for _ in range(2):
        assert owner_client.post(url, sent).status_code == 302

    assert Need.objects.filter(build=build, is_typed=True).count() == 1


@pytest.mark.parametrize("quantity", ["", "many", "-3", "0", "3 kg", "9" * 21, "<b>3</b>"])
def test_what_is_no_quantity_is_said_at_its_field(owner_client, build, quantity):
    answer = owner_client.post(reverse("owner:need-add", args=[build.pk]), typed(quantity=quantity))

    assert answer.status_code == 422
    assert answer.context["form"].errors["quantity"]
    assert not Need.objects.filter(is_typed=True).exists()


def test_a_changed_need_stays_when_reckoned_anew_and_comes_back_when_removed(owner_client, build):
    need = Need.objects.get(material__key="ply12", unit__isnull=False)
    reckoned = need.quantity

    owner_client.post(reverse("owner:need", args=[build.pk, need.pk]), {"quantity": "4.5 m2", "task": ""})
    owner_client.post(reverse("owner:needs-reckon", args=[build.pk]))

    need.refresh_from_db()
    assert (need.quantity, need.is_typed) == (Decimal("4.500"), True)
    owner_client.post(reverse("owner:need-remove", args=[build.pk, need.pk]))
    again = Need.objects.get(material__key="ply12", unit__isnull=False)
    assert (again.quantity, again.is_typed) == (reckoned, False)


def test_a_task_of_another_van_is_not_offered(owner_client, build, owner):
    other = begin("Teal", owner)
    need = Need.objects.filter(build=build).first()

    answer = owner_client.post(
        reverse("owner:need", args=[build.pk, need.pk]),
        {"quantity": "2", "task": other.tasks.first().pk},
    )

    assert answer.status_code == 422


def test_another_vans_need_is_not_found(owner_client, build, owner):
    other = begin("Teal", owner)
    need = Need.objects.filter(build=other).first()

    for name in ("owner:need", "owner:need-remove"):
        assert owner_client.post(reverse(name, args=[build.pk, need.pk])).status_code == 404


def test_a_reckoned_need_stays_with_a_word_of_why(owner_client, build):
    need = Need.objects.filter(build=build).first()

    answer = owner_client.post(reverse("owner:need-remove", args=[build.pk, need.pk]), follow=True)

    assert "Change that instead" in answer.content.decode()
    assert Need.objects.filter(pk=need.pk).exists()


@pytest.mark.parametrize("chosen", ["", "?build=1", "?build=99999", "?build=x&build=-1"])
def test_the_totals_come_as_a_pdf_whatever_is_chosen(owner_client, build, chosen):
    answer = owner_client.get(reverse("owner:material-pdf") + chosen)

    assert answer.status_code == 200
    assert answer.content.startswith(b"%PDF")


def test_fittings_of_one_installation_with_other_threads_are_warned_of(owner_client, library, owner):
    new = NewBuild(
        name="Teal",
        customer_name="The Ashdowns",
        arrives_on=date(2027, 3, 8),
        installations=tuple(InstallationChoice(kind) for kind in ("water", "waste", "twelve_volt")),
    )
    van = start_build(new=new, now=cast.NOW, by=owner)
    url = reverse("owner:build-material", args=[van.pk])
    Material.objects.filter(key="pump").update(thread="g1-2")
    matching = owner_client.get(url).content.decode()
    Material.objects.filter(key="fresh_tank").update(thread="m20x1.5")

    warned = owner_client.get(url).content.decode()

    assert "Threads that do not match" not in matching
    assert "Fresh water tank 70 l and Pump with strainer have" in warned
    assert "near enough to start by hand and not to hold" in warned


def test_what_joins_two_sizes_is_not_warned_of(owner_client, build):
    Material.objects.filter(key="batten").update(thread="g1-2")

    page = owner_client.get(reverse("owner:build-material", args=[build.pk])).content.decode()

    assert "Threads that do not match" not in page
