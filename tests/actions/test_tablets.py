"""Tablets: paired once with a code that runs out, withdrawn at once, paired again as themselves."""

from __future__ import annotations

from datetime import timedelta

import pytest

from builds.actions import tablets
from builds.actions.door import Refused
from builds.models import Tablet
from builds.queries.tablets import hash_of


@pytest.fixture
def added(shop, owner, now):
    return tablets.add_tablet(name="Bench", now=now, by=owner)


def test_a_code_pairs_once_and_only_its_print_is_kept(added, now):
    tablet, code = added

    paired, token = tablets.claim_tablet(code=f" {code[:4].lower()} {code[4:]}", now=now)

    assert (paired, paired.token_hash, paired.is_paired) == (tablet, hash_of(token), True)
    assert code not in str(Tablet.objects.values().get())
    with pytest.raises(Refused, match="not good"):
        tablets.claim_tablet(code=code, now=now)


def test_a_code_runs_out(added, now):
    with pytest.raises(Refused, match="run out"):
        tablets.claim_tablet(code=added[1], now=now + timedelta(minutes=15))


@pytest.mark.parametrize("code", ["", "   ", "AAAAAAAA", "x" * 5000, "\x00"])
def test_a_made_up_code_pairs_nothing(added, now, code):
    with pytest.raises(Refused, match="not good"):
        tablets.claim_tablet(code=code, now=now)


def test_a_second_press_leaves_one_tablet_with_a_code_that_works(added, owner, now):
    again, code = tablets.add_tablet(name="bench ", now=now, by=owner)

    assert Tablet.objects.get() == again
    assert tablets.claim_tablet(code=code, now=now)[0] == again


@pytest.mark.parametrize(("name", "words"), [("", "a name"), (" \x00 ", "a name"), ("x" * 41, "40 letters")])
def test_a_tablet_needs_a_name(shop, owner, now, name, words):
    with pytest.raises(Refused, match=words):
        tablets.add_tablet(name=name, now=now, by=owner)


def test_a_paired_tablets_name_is_taken(added, owner, now):
    tablets.claim_tablet(code=added[1], now=now)

    with pytest.raises(Refused, match="already"):
        tablets.add_tablet(name="BENCH", now=now, by=owner)


def test_a_withdrawn_tablet_is_out_with_its_open_code_and_comes_back_as_itself(added, owner, now):
    tablet, code = added
    tablets.claim_tablet(code=code, now=now)
    _, second = tablets.pair_again(tablet=tablet, now=now, by=owner)

    withdrawn = tablets.withdraw_tablet(tablet=tablet, now=now, by=owner)
    assert not withdrawn.is_paired
    with pytest.raises(Refused):
        tablets.claim_tablet(code=second, now=now)
    _, third = tablets.pair_again(tablet=tablet, now=now, by=owner)

    assert tablets.claim_tablet(code=third, now=now)[0] == tablet
