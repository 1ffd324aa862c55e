"""The owner sees and edits the standard library: tasks, links, kinds."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from builds.actions.library import load_standard_library
from builds.models import InstallationKind, StandardHoldPoint, StandardLink, StandardTask, UnitKind
from tests.cast import NOW
from tests.screens.forms import filled, post_form
from tests.screens.fragments import assert_same_as_fresh


@pytest.fixture
def library(shop):
    load_standard_library(now=NOW)


def queries_of(client, url: str) -> int:
    with CaptureQueriesContext(connection) as captured:
        assert client.get(url).status_code == 200
    return len(captured)


def standard(key: str, **more) -> StandardTask:
    hours = {"hours_low": Decimal("0.75"), "hours_likely": Decimal(1), "hours_high": Decimal("1.5")}
    fields = {"name": key.capitalize(), "trade": "joinery", "place": "bench", **hours} | more
    return StandardTask.objects.create(key=key, **fields)


@pytest.fixture
def row_of_three(shop):
    cut, glue, fit = standard("cut"), standard("glue"), standard("fit")
    StandardLink.objects.create(before=cut, after=glue)
    StandardLink.objects.create(before=glue, after=fit, wait_hours=24)
    return cut, glue, fit


def test_the_whole_library_opens_page_by_page_within_twelve_queries(owner_client, library):
    url = reverse("owner:standard-list")

    counts = {queries_of(owner_client, f"{url}?page={n}") for n in (1, 2, 3)}

    assert len(counts) == 1
    assert counts.pop() <= 12


@pytest.mark.parametrize("name", ["owner:standard-list", "owner:kind-list"])
def test_a_list_asks_as_much_for_three_as_for_one(owner_client, name):
    standard("cut")
    UnitKind.objects.create(key="a", name="A", width_mm=1, depth_mm=1, height_mm=1)
    one = queries_of(owner_client, reverse(name))

    standard("glue")
    standard("fit")
    for key in "bc":
        UnitKind.objects.create(key=key, name=key, width_mm=1, depth_mm=1, height_mm=1)
        InstallationKind.objects.create(key=key, name=key)

    assert queries_of(owner_client, reverse(name)) == one <= 12


def test_every_page_of_the_library_opens(owner_client, library):
    wrong = []
    addresses = [reverse("owner:standard", args=[key]) for key in _some(StandardTask, "key")]
    addresses += [reverse("owner:standard-link", args=[pk]) for pk in _some(StandardLink, "pk")]
    addresses += [reverse("owner:unit-kind", args=[pk]) for pk in _some(UnitKind, "pk")]
    addresses += [reverse("owner:installation-kind", args=[pk]) for pk in _some(InstallationKind, "pk")]
    for address in addresses:
        if owner_client.get(address).status_code != 200:
            wrong.append(address)

    assert wrong == []


def test_every_task_and_kind_of_the_library_may_be_kept_as_it_stands(owner_client, library):
    pages = [
        *(reverse("owner:standard", args=[key]) for key in _some(StandardTask, "key")),
        *(reverse("owner:standard-link", args=[pk]) for pk in _some(StandardLink, "pk")),
        *(reverse("owner:unit-kind", args=[k.pk]) for k in UnitKind.objects.all()),
        *(reverse("owner:installation-kind", args=[k.pk]) for k in InstallationKind.objects.all()),
    ]

    refused = [page for page in pages if post_form(owner_client, page, {}).status_code != 302]

    assert refused == []


def _some(model, field: str) -> list:
    return list(model.objects.values_list(field, flat=True)[::9])


def test_a_tasks_page_stays_within_twelve_queries(owner_client, row_of_three):
    _, glue, _ = row_of_three
    one = queries_of(owner_client, reverse("owner:standard", args=[glue.key]))

    for key in ("sand", "dust"):
        StandardLink.objects.create(before=standard(key), after=glue)

    assert queries_of(owner_client, reverse("owner:standard", args=[glue.key])) == one <= 12


def test_what_is_looked_for_comes_as_the_page_would_show_it(owner_client, row_of_three):
    url = reverse("owner:standard-list")
    page = owner_client.get(url).content.decode()

    answer = owner_client.get(url, {"q": "glue"}, headers={"HX-Request": "true"}).content.decode()

    assert "Cut" not in answer
    fresh = owner_client.get(url, {"q": "glue"}).content.decode()
    assert_same_as_fresh(page, answer, fresh, "standards", within="standards")


@pytest.mark.parametrize(
    ("words", "found"), [("bench", 3), ("BENCH joinery", 3), ("glu", 1), ("gas", 0), ("%", 0)]
)
def test_tasks_are_found_by_name_trade_and_place(owner_client, row_of_three, words, found):
    text = owner_client.get(reverse("owner:standard-list"), {"q": words}).content.decode()

    assert text.count('data-label="Trade"') == found


def test_withdrawn_tasks_are_listed_only_when_asked_for(owner_client, row_of_three):
    owner_client.post(reverse("owner:standard-withdraw", args=[row_of_three[0].pk]), {"withdrawn": "yes"})

    url = reverse("owner:standard-list")
    assert 'data-label="Trade"' in owner_client.get(url).content.decode()
    assert "Cut" not in owner_client.get(url).content.decode()
    assert "Cut" in owner_client.get(url, {"withdrawn": "1"}).content.decode()


def test_a_check_no_build_goes_without_is_not_withdrawn(owner_client, shop):
    StandardHoldPoint.objects.create(key="gas", name="Gas tightness", may_overrule=False)
    task = standard("test-gas", hold_point="gas")

    response = owner_client.post(
        reverse("owner:standard-withdraw", args=[task.pk]), {"withdrawn": "yes"}, follow=True
    )

    assert "never left out" in response.content.decode()
    task.refresh_from_db()
    assert not task.withdrawn


def test_a_standard_task_is_changed(owner_client, row_of_three):
    page = reverse("owner:standard", args=["glue"])

    response = post_form(
        owner_client,
        page,
        {"hours_likely": "1.25", "crew": "2", "place": "inside", "materials": "clamps, glue"},
    )

    assert response.status_code == 302
    kept = StandardTask.objects.get(key="glue")
    assert (kept.hours_likely, kept.crew, kept.place) == (Decimal("1.25"), 2, "inside")
    assert kept.materials == ["clamps", "glue"]


@pytest.mark.parametrize(
    "typed",
    [
        {"hours_likely": "-1"},
        {"hours_likely": "9"},
        {"hours_high": "1e5"},
        {"crew": "0"},
        {"crew": "nobody"},
        {"trade": "alchemy"},
        {"place": "moon"},
        {"name": ""},
        {"name": "x" * 10000},
    ],
)
def test_a_standard_task_that_can_not_be_is_named_and_the_input_kept(owner_client, row_of_three, typed):
    page = reverse("owner:standard", args=["glue"])

    response = post_form(owner_client, page, {"why": "kept words"} | typed)

    assert response.status_code == 422
    assert filled(response.content.decode())["why"] == "kept words"
    assert StandardTask.objects.get(key="glue").hours_likely == 1


def test_a_standard_task_changed_on_another_page_is_not_overwritten(owner_client, row_of_three):
    page = reverse("owner:standard", args=["glue"])
    form = filled(owner_client.get(page).content.decode())
    post_form(owner_client, page, {"crew": "2"})

    assert owner_client.post(page, form | {"crew": "3"}).status_code == 409
    assert StandardTask.objects.get(key="glue").crew == 2


def new_task(client, **typed):
    hours = {"hours_low": "1", "hours_likely": "2", "hours_high": "3"}
    return post_form(client, reverse("owner:standard-new"), {"name": "Sand", **hours} | typed)


def test_a_task_is_added_with_its_links(owner_client, row_of_three):
    response = new_task(owner_client, after1="cut", before1="glue", before1_wait="2")

    assert response.status_code == 302
    links = {(link.before_id, link.after_id): link.wait_hours for link in StandardLink.objects.all()}
    assert (links[("cut", "sand")], links[("sand", "glue")]) == (0, 2)


def test_a_loop_is_refused_with_its_path_and_the_input_kept(owner_client, row_of_three):
    response = new_task(owner_client, after1="fit", before1="cut", why="kept words")

    text = response.content.decode()
    assert response.status_code == 422
    assert "That makes a loop: Sand → Cut → Glue → Fit → Sand." in text
    assert filled(text)["why"] == "kept words"
    assert StandardTask.objects.count() == 3


def test_a_link_is_added_changed_and_removed(owner_client, row_of_three):
    add = reverse("owner:standard-link-add", args=["fit"])
    owner_client.post(add, {"side": "after", "task": "cut", "wait_hours": "3"})
    link = StandardLink.objects.get(before="cut", after="fit")
    assert link.wait_hours == 3

    post_form(owner_client, reverse("owner:standard-link", args=[link.pk]), {"wait_hours": "5.5"})
    link.refresh_from_db()
    assert link.wait_hours == Decimal("5.5")

    owner_client.post(reverse("owner:standard-link-remove", args=[link.pk]))
    assert not StandardLink.objects.filter(pk=link.pk).exists()


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"side": "before", "task": "cut"}, "That makes a loop: Fit → Cut → Glue → Fit."),
        ({"side": "after", "task": "glue"}, "already"),
        ({"side": "after", "task": "fit"}, "That makes a loop: Fit → Fit."),
        ({"side": "after", "task": ""}, "required"),
        ({"side": "beside", "task": "cut"}, "not one of the available"),
    ],
)
def test_a_link_that_can_not_be_is_named(owner_client, row_of_three, typed, words):
    add = reverse("owner:standard-link-add", args=["fit"])

    response = owner_client.post(add, {"wait_hours": "0"} | typed)

    assert response.status_code == 422
    assert words in response.content.decode()
    assert StandardLink.objects.count() == 2


@pytest.mark.parametrize("typed", [{"wait_hours": "-1"}, {"wait_hours": "99999"}, {"latest_hours": "3"}])
def test_a_wait_that_can_not_be_is_named(owner_client, row_of_three, typed):
    link = StandardLink.objects.get(before="glue")

    response = post_form(owner_client, reverse("owner:standard-link", args=[link.pk]), typed)

    assert response.status_code == 422
    link.refresh_from_db()
    assert link.wait_hours == 24


def test_a_kind_of_unit_is_changed_within_its_sizes(owner_client, library):
    kind = UnitKind.objects.get(key="seat_box")
    page = reverse("owner:unit-kind", args=[kind.pk])

    assert post_form(owner_client, page, {"width_mm": "9000"}).status_code == 422
    assert post_form(owner_client, page, {"width_mm": "1200"}).status_code == 302

    kind.refresh_from_db()
    assert kind.width_mm == 1200


def test_kinds_are_withdrawn_and_brought_back(owner_client, library):
    unit, installation = UnitKind.objects.first(), InstallationKind.objects.first()
    for name, kind in (("unit-kind", unit), ("installation-kind", installation)):
        url = reverse(f"owner:{name}-withdraw", args=[kind.pk])
        owner_client.post(url, {"withdrawn": "yes"})
        kind.refresh_from_db()
        assert kind.withdrawn

        owner_client.post(url, {"withdrawn": "no"})
        kind.refresh_from_db()
        assert not kind.withdrawn


def test_an_installation_is_not_picked_at_first_any_more(owner_client, library):
    kind = InstallationKind.objects.get(key="gas")

    typed = filled(owner_client.get(reverse("owner:installation-kind", args=[kind.pk])).content.decode())
    typed.pop("usual")
    owner_client.post(reverse("owner:installation-kind", args=[kind.pk]), typed)

    kind.refresh_from_db()
    assert not kind.usual


def test_a_kind_of_unit_and_of_installation_are_added(owner_client, library):
    sizes = {"width_mm": "900", "depth_mm": "400", "height_mm": "450", "made_as": "carcass"}
    post_form(owner_client, reverse("owner:unit-kind-new"), {"name": "Side box", **sizes})
    post_form(owner_client, reverse("owner:installation-kind-new"), {"name": "Radio"})

    assert UnitKind.objects.get(key="side_box").made_as == "carcass"
    assert InstallationKind.objects.get(key="radio").usual_count == 1


@pytest.mark.parametrize(
    "typed", [{"name": ""}, {"width_mm": "0"}, {"made_as": "magic"}, {"name": "Kitchen"}]
)
def test_a_kind_of_unit_that_can_not_be_is_named(owner_client, library, typed):
    sizes = {"width_mm": "900", "depth_mm": "400", "height_mm": "450", "made_as": "carcass"}

    response = post_form(owner_client, reverse("owner:unit-kind-new"), {"name": "Side box", **sizes} | typed)

    assert response.status_code == 422
    assert not UnitKind.objects.filter(key="side_box").exists()
