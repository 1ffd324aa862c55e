"""The shop's own library as the composer reads it."""

from __future__ import annotations

import pytest

from builds.actions import standards
from builds.actions.library import load_standard_library
from builds.engines.composing.compose import compose
from builds.engines.composing.linking import find_loop
from builds.engines.composing.network import ComposedLink, InstallationPick, Picks, UnitPick
from builds.models import StandardLink, StandardTask
from builds.queries.standard_work import standard_work
from builds.queries.standards import comes_for
from tests.cast import NOW

PICKS = Picks(
    units=(UnitPick("unit-1", "seat_box", "Seat box", 1000, 550, 480),),
    installations=(InstallationPick("inst-1", "floor", 1),),
)


@pytest.fixture
def library(shop):
    load_standard_library(now=NOW)


def follows(network, before: str, after: str) -> bool:
    reached, left = set(), [before]
    while left:
        key = left.pop()
        for link in network.links:
            if link.before == key and link.after not in reached:
                reached.add(link.after)
                left.append(link.after)
    return after in reached


def test_the_followers_of_a_withdrawn_task_wait_for_what_it_waited_for(library, owner):
    StandardLink.objects.all().delete()
    for before, after in (("brief", "look_over"), ("look_over", "measure")):
        StandardLink.objects.create(before_id=before, after_id=after)
    assert follows(compose(PICKS, standard_work()), "brief", "measure")

    standards.withdraw_task(task=StandardTask.objects.get(key="look_over"), now=NOW, by=owner)

    network = compose(PICKS, standard_work())
    assert "look_over" not in network.keys
    assert follows(network, "brief", "measure")


def test_a_withdrawn_task_that_comes_back_is_in_new_builds_again(library, owner):
    task = StandardTask.objects.get(key="look_over")
    before = compose(PICKS, standard_work()).keys

    standards.withdraw_task(task=task, now=NOW, by=owner)
    standards.withdraw_task(task=task, withdrawn=False, now=NOW, by=owner)

    assert compose(PICKS, standard_work()).keys == before


def test_a_task_of_the_shops_own_comes_into_new_builds_where_it_was_put(library, owner):
    standards.add_task(
        name="Photograph the empty van",
        scope="van",
        fields={
            "trade": "owner",
            "place": "bay",
            "hours_low": "0.5",
            "hours_likely": "0.5",
            "hours_high": "1",
        },
        after=[standards.Joined("look_over")],
        before=[standards.Joined("measure")],
        now=NOW,
        by=owner,
    )

    network = compose(PICKS, standard_work())

    assert follows(network, "look_over", "photograph_the_empty_van")
    assert follows(network, "photograph_the_empty_van", "measure")


def test_the_library_that_is_loaded_has_no_loop_a_new_link_could_be_blamed_for(library):
    pairs = StandardLink.objects.values_list("before_id", "after_id")

    assert find_loop([ComposedLink(*pair) for pair in pairs]) is None


@pytest.mark.parametrize(
    ("scope", "words"),
    [
        ("van", "once a van"),
        ("furniture", "once, where there is furniture"),
        ("unit:*", "each unit"),
        ("unit:seat_box", "each seat box"),
        ("installation:twelve", "with 12 V"),
        ("any_of:seat_box|twelve", "once, with seat box or 12 V"),
        ("any_of:a|b|c|d|e", "once, with a, b, c or 2 more"),
        ("made:carcass|panels", "each unit made as carcass or panels"),
    ],
)
def test_a_scope_is_said_in_words(scope, words):
    assert comes_for(scope, {"seat_box": "seat box", "twelve": "12 V"}) == words
