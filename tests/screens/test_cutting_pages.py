"""Cutting on the owner's screens: laid out, looked at, bettered, printed."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from builds.actions.cutting import lay_out
from builds.actions.cutting_search import ask_for_better_layout, search_layout
from builds.models import Build, CutSheet, CuttingPlan, Shop
from tests import cast
from tests.cast import NOW
from tests.screens.fragments import assert_same_as_fresh


def queries_of(client, url: str) -> int:
    with CaptureQueriesContext(connection) as captured:
        assert client.get(url).status_code == 200
    return len(captured)


def make_kitchen(board, name: str = "Heron") -> Build:
    unit = cast.make_unit(cast.make_build(name))
    cast.make_part(unit, board, "Side", 880, 500, count=2)
    cast.make_part(unit, board, "Shelf", 976, 480, count=4)
    return unit.build


@pytest.fixture
def board(shop):
    return cast.make_board()


@pytest.fixture
def build(board):
    return make_kitchen(board)


@pytest.fixture
def plan(build, now):
    return lay_out(builds=[build], now=now, by=None)[0]


def page_of(client, name, *args) -> str:
    return client.get(reverse(name, args=args)).content.decode()


def test_a_build_without_parts_says_what_to_do_first(owner_client, shop):
    assert "No parts to cut yet." in page_of(owner_client, "owner:build-cutting", cast.make_build().pk)


def test_the_owner_lays_a_build_out_and_sees_its_sheets(owner_client, build):
    page = reverse("owner:build-cutting", args=[build.pk])
    assert "not laid out yet" in owner_client.get(page).content.decode()

    response = owner_client.post(reverse("owner:build-lay-out", args=[build.pk]))

    assert response["Location"] == page
    shown = owner_client.get(page).content.decode()
    assert "Laid out on 1 board." in shown
    assert "Sheet 1" in shown
    assert "pieces for Kitchen" in shown


def test_laying_out_is_pressed_twice_and_done_once(owner_client, build):
    for _ in range(2):
        owner_client.post(reverse("owner:build-lay-out", args=[build.pk]))

    assert CuttingPlan.objects.count() == 1


def test_changed_parts_ask_for_a_new_layout(owner_client, build, plan):
    build.units.get().parts.filter(name="Shelf").update(count=5)

    assert "The parts changed since." in page_of(owner_client, "owner:build-cutting", build.pk)
    assert "parts changed since" in page_of(owner_client, "owner:cutting")


def test_a_part_that_fits_no_sheet_is_named_on_the_page(owner_client, build, board):
    cast.make_part(build.units.get(), board, "Long side", 2600, 300)

    owner_client.post(reverse("owner:build-lay-out", args=[build.pk]))

    shown = page_of(owner_client, "owner:build-cutting", build.pk)
    assert "These fit no sheet." in shown
    assert "1 × Long side, Kitchen, Heron: 2600 × 300 mm" in shown


def test_builds_chosen_together_share_a_plan(owner_client, build, board):
    other = make_kitchen(board, "Plover")

    owner_client.post(reverse("owner:cutting-together"), {"builds": [build.pk, other.pk]})

    assert [set(p.builds.all()) for p in CuttingPlan.objects.all()] == [{build, other}]


def test_no_build_chosen_is_said_beside_the_boxes(owner_client, build):
    response = owner_client.post(reverse("owner:cutting-together"), {})

    assert response.status_code == 422
    assert "Choose at least one build." in response.content.decode()


def test_an_absurd_saw_is_refused_and_what_was_typed_stays(owner_client, build):
    response = owner_client.post(reverse("owner:cutting-saw"), {"kerf": "25", "trim": "10"})

    assert response.status_code == 422
    assert "A saw cut is between 0 and 20 mm wide." in response.content.decode()
    assert 'value="25"' in response.content.decode()
    assert Shop.objects.get(pk=1).saw_kerf_tenths == 30


def test_the_saw_is_kept(owner_client, build):
    owner_client.post(reverse("owner:cutting-saw"), {"kerf": "3.2", "trim": "5"})

    shop = Shop.objects.get(pk=1)
    assert (shop.saw_kerf_tenths, shop.sheet_trim_tenths) == (32, 50)


def test_a_search_shows_how_far_it_is_and_answers_304_while_nothing_changed(owner_client, plan, now):
    ask_for_better_layout(plan=plan, seconds=60, now=now, in_worker=False)
    page = reverse("owner:cutting-how-far", args=[plan.pk])

    first = owner_client.get(page)
    again = owner_client.get(page, headers={"If-None-Match": first["ETag"]})

    assert "Looking for a better layout" in first.content.decode()
    assert again.status_code == 304


def test_the_board_after_a_press_is_what_a_fresh_page_shows(owner_client, plan):
    page = reverse("owner:cutting-plan", args=[plan.pk])
    before = owner_client.get(page).content.decode()

    answer = owner_client.post(
        reverse("owner:cutting-better", args=[plan.pk]), {"seconds": "10"}, headers={"HX-Request": "true"}
    )

    assert "Stop and keep the best" in answer.content.decode()
    fresh = owner_client.get(page).content.decode()
    assert_same_as_fresh(before, answer.content.decode(), fresh, target=f"#board-{plan.pk}")


def test_the_end_of_a_search_is_told_once_and_the_board_reloads(owner_client, plan, now):
    ask_for_better_layout(plan=plan, seconds=1, now=now, in_worker=False)
    search_layout(plan.pk, time_now=lambda: now)

    response = owner_client.get(reverse("owner:cutting-how-far", args=[plan.pk]))

    assert f"layout-{plan.pk}" in response["HX-Trigger"]


def test_a_search_that_lost_its_worker_is_said_to_be_lost_and_can_be_asked_for_again(owner_client, plan):
    long_ago = timezone.now() - timedelta(minutes=2)
    CuttingPlan.objects.filter(pk=plan.pk).update(is_looking=True, heard_at=long_ago, run=1)

    page = owner_client.get(f"/material/cutting/plan/{plan.pk}/").content.decode()
    told = owner_client.get(f"/material/cutting/plan/{plan.pk}/how-far/")

    assert "The search was lost" in page
    assert "Look for a better layout" in page
    assert f"layout-{plan.pk}" in told["HX-Trigger"]


def test_a_sheet_shows_its_pieces_sizes_and_order_of_cuts(owner_client, plan):
    shown = page_of(owner_client, "owner:cut-sheet", plan.sheets.get(number=1).pk)

    assert "Order of cuts" in shown
    assert "976 × 480" in shown
    assert "Trim 10 mm off each edge" in shown
    assert ">grain<" in shown


@pytest.mark.parametrize("name", ["owner:cutting-plan", "owner:cut-sheet", "owner:cutting-plan-pdf"])
def test_what_is_not_there_is_not_found(owner_client, shop, name):
    assert owner_client.get(reverse(name, args=[987654])).status_code == 404


@pytest.mark.parametrize("name", ["owner:cutting-pdf", "owner:labels-pdf"])
def test_the_papers_of_a_build_are_pdf(owner_client, build, plan, name):
    response = owner_client.get(reverse(name, args=[build.pk]))

    assert response["Content-Type"] == "application/pdf"
    assert response.content.startswith(b"%PDF")


def test_pages_ask_as_much_for_three_as_for_one(owner_client, build, board, plan):
    pages = [reverse("owner:cutting"), reverse("owner:build-cutting", args=[build.pk])]
    one = [queries_of(owner_client, page) for page in pages]

    more = [make_kitchen(board, name) for name in ("Plover", "Avocet")]
    lay_out(builds=[build, *more], now=NOW, by=None)
    cast.make_part(more[0].units.get(), cast.make_board("ply15"), "Top", 600, 500)

    assert [queries_of(owner_client, page) for page in pages] == one
    assert max(one) <= 12


def test_sheets_cut_are_marked_so(owner_client, build, plan, now):
    CutSheet.objects.filter(plan=plan).update(cut_at=now, cut_by=cast.make_person("Wren Alder", "joinery"))

    shown = page_of(owner_client, "owner:build-cutting", build.pk)

    assert "by Wren Alder" in shown
    assert "Look for a better layout" not in shown
