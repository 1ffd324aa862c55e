"""Fixtures shared by all tests."""

from __future__ import annotations

import pytest

from tests import cast


@pytest.fixture
def now():
    return cast.NOW


@pytest.fixture
def shop(db):
    return cast.make_shop()


@pytest.fixture
def owner(db):
    return cast.make_owner()


@pytest.fixture
def owner_client(client, shop, owner):
    client.force_login(owner)
    return client


@pytest.fixture
def joiner(shop):
    return cast.make_person("Wren Alder", "joinery", "vehicle", "owner")


@pytest.fixture
def small_build(shop, joiner):
    """One van with three joinery tasks in a row, the last after a day's drying."""
    build = cast.make_build()
    first = cast.make_task(build, "cut-parts", hours=4, place_id="bench", needs_van=False)
    second = cast.make_task(
        build, "glue-up", hours=3, place_id="bench", needs_van=False, same_day=True, after=(first,)
    )
    cast.make_task(build, "fit-unit", hours=2, after=((second, 24 * 60),))
    return build
