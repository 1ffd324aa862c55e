"""One door for writes: whole or not at all, one after another."""

from __future__ import annotations

import pytest

from builds.actions.door import Refused, Stale, check_version, write
from builds.models import Customer, Shop
from tests import cast


def test_a_refusal_half_way_leaves_nothing_behind(shop):
    def half_an_action() -> None:
        with write():
            Customer.objects.create(name="Half a customer")
            raise Refused("Not this way.")

    with pytest.raises(Refused):
        half_an_action()

    assert not Customer.objects.filter(name="Half a customer").exists()
    assert Shop.objects.get().revision == shop.revision


def test_a_write_that_bears_on_the_plan_raises_the_revision(shop):
    with write():
        pass

    assert Shop.objects.get().revision == shop.revision + 1


def test_a_write_that_does_not_leaves_the_plan_current(shop):
    with write(plan=False):
        pass

    assert Shop.objects.get().revision == shop.revision


@pytest.mark.django_db(transaction=True)
def test_a_plan_is_asked_for_once_the_write_is_in(small_build):
    with write():
        pass

    shop = Shop.objects.get()
    assert shop.planned_revision == shop.revision


def test_an_old_version_is_refused_by_name(small_build):
    with pytest.raises(Stale, match="Heron"):
        check_version(small_build, small_build.version - 1)


def test_no_version_asked_is_no_version_checked(small_build):
    check_version(small_build, None)


def test_the_cast_is_there_once(shop):
    assert cast.make_shop() == shop
