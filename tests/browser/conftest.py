"""A real browser on a live server: signed in as the owner, or as a fitter on a paired tablet."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client

from builds.models import Tablet
from builds.queries.tablets import COOKIE, hash_of
from tests import cast

os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
WIDTHS = {"desk": (1280, 800), "tablet": (820, 1180), "phone": (390, 844)}
TABLET_TOKEN = "a-paired-tablet-in-the-browser-tests-01"


def pytest_collection_modifyitems(items):
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def browser_type_launch_args():
    return {"executable_path": "/usr/bin/chromium", "args": FLAGS}


@pytest.fixture
def browser_context_args():
    return {"viewport": {"width": 1280, "height": 800}, "locale": "en-GB"}


@pytest.fixture
def in_the_shop(transactional_db):
    """The shop as it is at the real time of the run: browsers know no other clock."""
    return cast.make_shop()


@pytest.fixture
def site(live_server, in_the_shop):
    return live_server.url


@pytest.fixture
def troubles(page):
    """What the page complained of: script errors, refused sources, failed requests of our own."""
    found: list[str] = []
    page.on("pageerror", lambda error: found.append(str(error)))
    page.on("console", lambda message: found.append(message.text) if message.type == "error" else None)
    return found


@pytest.fixture
def as_owner(page, site):
    """The page, signed in as the owner."""
    owner = cast.make_owner()
    client = Client()
    client.force_login(owner)
    cookie = client.cookies[settings.SESSION_COOKIE_NAME]
    page.context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": site}])
    return page


@pytest.fixture
def on_tablet(page, site):
    """The page, on a paired tablet."""
    Tablet.objects.create(name="Bench tablet", token_hash=hash_of(TABLET_TOKEN), paired_at=datetime.now(UTC))
    page.context.add_cookies([{"name": COOKIE, "value": TABLET_TOKEN, "url": site}])
    page.set_viewport_size({"width": 820, "height": 1180})
    return page
