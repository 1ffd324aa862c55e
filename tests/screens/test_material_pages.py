"""The owner sees and edits places, suppliers and materials."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from builds.actions.library import load_standard_library
from builds.models import Material, Place, Shop, Supplier
from tests.cast import NOW
from tests.screens.forms import filled, post_form
from tests.screens.fragments import assert_same_as_fresh

PLY = {"name": "Birch ply 12", "form": "sheet", "unit": "piece", "length_mm": 2440, "width_mm": 1220}


def queries_of(client, url: str) -> int:
    with CaptureQueriesContext(connection) as captured:
        assert client.get(url).status_code == 200
    return len(captured)


def make_material(name: str) -> Material:
    supplier = Supplier.objects.create(name=f"{name} yard")
    return Material.objects.create(key=name.lower().replace(" ", "_"), name=name, supplier=supplier)


@pytest.mark.parametrize("name", ["owner:shop-materials", "owner:supplier-list", "owner:place-list"])
def test_a_list_asks_as_much_for_three_as_for_one(owner_client, name):
    make_material("Ply")
    one = queries_of(owner_client, reverse(name))

    make_material("Paint")
    make_material("Screws")
    Place.objects.create(key="sewing", name="Sewing table", room=1)

    assert queries_of(owner_client, reverse(name)) == one <= 12


@pytest.mark.parametrize(
    ("name", "words"),
    [("owner:shop-materials", "No material yet."), ("owner:supplier-list", "No supplier yet.")],
)
def test_an_empty_list_says_what_to_do_first(owner_client, name, words):
    assert words in owner_client.get(reverse(name)).content.decode()


def test_a_material_is_added_and_changed(owner_client):
    typed = filled(owner_client.get(reverse("owner:shop-material-new")).content.decode())
    response = owner_client.post(reverse("owner:shop-material-new"), typed | PLY)
    assert response.status_code == 302

    page = reverse("owner:shop-material", args=[Material.objects.get().pk])
    post_form(owner_client, page, {"price": "62.50", "waste_percent": "12"})

    kept = Material.objects.get()
    assert (kept.name, str(kept.price), str(kept.waste_percent)) == ("Birch ply 12", "62.50", "12.0")
    assert "£62.50" in owner_client.get(reverse("owner:shop-materials")).content.decode()


@pytest.mark.parametrize(
    "typed",
    [
        {"name": ""},
        {"name": "x" * 81},
        {"unit": "kg"},
        {"length_mm": ""},
        {"length_mm": "-3"},
        {"price": "-1"},
        {"price": "1e9"},
        {"pack": "0"},
        {"pack": "none"},
        {"waste_percent": "100"},
        {"supplier": "987654"},
        {"form": "cloud"},
    ],
)
def test_a_material_that_can_not_be_is_named_and_the_input_kept(owner_client, typed):
    page = reverse("owner:shop-material-new")
    form = filled(owner_client.get(page).content.decode()) | PLY | {"rule": "kept words"}

    response = owner_client.post(page, form | typed)

    assert response.status_code == 422
    assert filled(response.content.decode())["rule"] == "kept words"
    assert Material.objects.count() == 0


def test_sending_a_new_material_twice_makes_one(owner_client):
    page = reverse("owner:shop-material-new")
    form = filled(owner_client.get(page).content.decode()) | PLY

    statuses = [owner_client.post(page, form).status_code for _ in range(2)]

    assert statuses == [302, 422]
    assert Material.objects.count() == 1


def test_a_material_changed_on_another_page_is_not_overwritten(owner_client):
    material = make_material("Screws")
    page = reverse("owner:shop-material", args=[material.pk])
    form = filled(owner_client.get(page).content.decode())
    post_form(owner_client, page, {"price": "8"})

    response = owner_client.post(page, form | {"price": "9"})

    assert response.status_code == 409
    assert Material.objects.get().price == 8


def test_what_is_looked_for_comes_as_the_page_would_show_it(owner_client):
    make_material("Birch ply")
    make_material("Paint")
    url = reverse("owner:shop-materials")
    page = owner_client.get(url).content.decode()

    answer = owner_client.get(url, {"q": "birch yard"}, headers={"HX-Request": "true"}).content.decode()

    assert "Paint" not in answer
    fresh = owner_client.get(url, {"q": "birch yard"}).content.decode().replace('value="birch yard"', "")
    assert_same_as_fresh(page.replace('value=""', ""), answer, fresh, "materials", within="materials")


@pytest.mark.parametrize("query", ["q=%00", "q=" + "x" * 500, "page=0", "page=zz", "page=99", "q=nothing"])
def test_a_strange_search_shows_no_trouble(owner_client, query):
    make_material("Birch ply")

    assert owner_client.get(f"{reverse('owner:shop-materials')}?{query}").status_code == 200


def test_a_supplier_is_added_changed_withdrawn_and_brought_back(owner_client):
    page = reverse("owner:supplier-new")
    post_form(owner_client, page, {"name": "Sallow Timber", "email": "desk@example.org"})
    supplier = Supplier.objects.get()

    post_form(owner_client, reverse("owner:supplier", args=[supplier.pk]), {"lead_days": "5"})
    away = reverse("owner:supplier-withdraw", args=[supplier.pk])
    owner_client.post(away, {"withdrawn": "yes"})
    supplier.refresh_from_db()
    assert (supplier.lead_days, supplier.withdrawn) == (5, True)

    owner_client.post(away, {"withdrawn": "no"})
    supplier.refresh_from_db()
    assert not supplier.withdrawn


@pytest.mark.parametrize(
    "typed",
    [{"name": ""}, {"email": "nowhere"}, {"lead_days": "-1"}, {"lead_days": "999"}, {"minimum_order": "-1"}],
)
def test_a_supplier_that_can_not_be_is_named(owner_client, typed):
    response = post_form(
        owner_client, reverse("owner:supplier-new"), {"name": "Sallow", "notes": "kept"} | typed
    )

    assert response.status_code == 422
    assert filled(response.content.decode())["notes"].strip() == "kept"
    assert Supplier.objects.count() == 0


def test_a_withdrawn_supplier_is_not_offered_for_a_new_material(owner_client):
    Supplier.objects.create(name="Old Yard", withdrawn=True)

    text = owner_client.get(reverse("owner:shop-material-new")).content.decode()

    assert "Old Yard" not in text


def test_a_withdrawn_material_may_be_brought_back(owner_client):
    material = make_material("Screws")
    url = reverse("owner:shop-material-withdraw", args=[material.pk])

    for typed in ({"withdrawn": "perhaps"}, {"withdrawn": "yes"}):
        owner_client.post(url, typed)
    material.refresh_from_db()
    assert material.withdrawn

    owner_client.post(url, {"withdrawn": "no"})
    material.refresh_from_db()
    assert not material.withdrawn


def test_whatever_the_library_brings_may_be_kept_as_it_stands(owner_client):
    load_standard_library(now=NOW)
    pages = [
        *(reverse("owner:shop-material", args=[m.pk]) for m in Material.objects.all()),
        *(reverse("owner:supplier", args=[s.pk]) for s in Supplier.objects.all()),
        *(reverse("owner:place", args=[p.pk]) for p in Place.objects.all()),
    ]

    refused = [page for page in pages if post_form(owner_client, page, {}).status_code != 302]

    assert len(pages) > 30
    assert refused == []


def test_a_place_holds_more_and_the_plan_is_made_anew(owner_client):
    place = Place.objects.get(key="spray")
    before = Shop.objects.get().revision

    post_form(owner_client, reverse("owner:place", args=[place.pk]), {"room": "2"})

    place.refresh_from_db()
    assert place.room == 2
    assert Shop.objects.get().revision > before


@pytest.mark.parametrize(
    "typed", [{"room": "0"}, {"room": "-1"}, {"room": "many"}, {"name": ""}, {"name": "Bench"}]
)
def test_a_place_that_can_not_be_is_named(owner_client, typed):
    place = Place.objects.get(key="spray")

    response = post_form(owner_client, reverse("owner:place", args=[place.pk]), typed)

    assert response.status_code == 422
    place.refresh_from_db()
    assert (place.name, place.room) == ("Spray area", 1)


def test_a_place_is_added(owner_client):
    post_form(owner_client, reverse("owner:place-new"), {"name": "Sewing table", "room": "1"})

    assert Place.objects.get(key="sewing_table").room == 1
