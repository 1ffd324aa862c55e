"""Outside the demo nothing is served in which somebody signs in with a password that stands in the README."""

from __future__ import annotations

import pytest
from django.core.management import CommandError

from builds.demo.sign_ins import DEMO_SIGN_INS
from builds.management.commands.serve import refuse_demo_passwords
from builds.models import User

pytestmark = pytest.mark.django_db


def test_a_database_of_the_demo_is_refused_with_what_to_do():
    name, word, _ = DEMO_SIGN_INS[0]
    User.objects.create_user(name, password=word)

    with pytest.raises(CommandError, match="set BENCHWEEK_VAR to an empty folder"):
        refuse_demo_passwords()


@pytest.mark.parametrize("change", [{"password": "another long word of their own"}, {"is_active": False}])
def test_a_changed_password_or_a_closed_sign_in_is_fine(change):
    name, word, _ = DEMO_SIGN_INS[0]
    User.objects.create_user(name, **({"password": word} | change))

    refuse_demo_passwords()


def test_a_shop_that_nobody_has_begun_is_fine():
    refuse_demo_passwords()
