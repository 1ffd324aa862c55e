"""Every route for every audience: the signed-out, a fitter's tablet, a customer with a link, an owner."""

from __future__ import annotations

import pytest
from django.urls import URLPattern, URLResolver, get_resolver

from builds.queries.tablets import COOKIE, hash_of
from tests import cast
from workshop.middleware import OPEN_TO_ALL

TOKEN = "a-paired-tablet-in-the-tests-0123456789"
FLOOR_OPEN = {"pair", "pair-code", "not-paired", "state"}


def routes(resolver=None, namespace="", prefix="/"):
    """Every route as (view name, path with each argument filled in)."""
    for entry in (resolver or get_resolver()).url_patterns:
        if isinstance(entry, URLResolver):
            inner = ":".join(filter(None, [namespace, entry.namespace]))
            yield from routes(entry, inner, prefix + _filled(entry.pattern))
        elif isinstance(entry, URLPattern) and entry.name:
            yield ":".join(filter(None, [namespace, entry.name])), prefix + _filled(entry.pattern)


def _filled(pattern) -> str:
    path = str(pattern)
    for name, converter in pattern.converters.items():
        kind = type(converter).__name__
        value = {
            "IntConverter": "987654",
            "PhotoSize": "small",
            "UUIDConverter": "0b0b0b0b-0000-4000-8000-00000000beef",
        }.get(kind, "no-such-thing")
        path = _replace(path, name, value)
    return path.lstrip("^").rstrip("$")


def _replace(path: str, name: str, value: str) -> str:
    start = path.index(":" + name + ">") if ":" + name + ">" in path else path.index("<" + name + ">")
    begin = path.rindex("<", 0, start + 1)
    return path[:begin] + value + path[path.index(">", begin) + 1 :]


def all_routes(*namespaces: str) -> list:
    return [
        pytest.param(name, path, id=name)
        for name, path in routes()
        if (name.split(":")[0] if ":" in name else "") in namespaces
    ]


@pytest.mark.parametrize(("name", "path"), all_routes("owner", ""))
def test_the_signed_out_are_sent_to_the_sign_in_page(client, shop, name, path):
    if name in OPEN_TO_ALL:
        expected = (404,) if name == "begin" else (200, 302, 405)
        assert client.get(path).status_code in expected
        return

    for method in (client.get, client.post):
        response = method(path)
        assert response.status_code == 302, name
        assert response["Location"].startswith("/sign-in/"), name


@pytest.mark.parametrize(("name", "path"), all_routes("owner"))
def test_a_fitters_tablet_reaches_no_owner_screen(client, shop, name, path):
    pair(client)

    for method in (client.get, client.post):
        response = method(path)
        assert response.status_code == 302, name
        assert response["Location"].startswith("/sign-in/"), name


@pytest.mark.parametrize(("name", "path"), all_routes("floor"))
def test_an_unpaired_device_reaches_no_floor_screen(client, shop, name, path):
    if name.split(":")[1] in FLOOR_OPEN:
        return

    assert client.get(path).status_code in (302, 401, 404, 405), name
    assert client.post(path).status_code in (401, 403, 404, 405), name


@pytest.mark.parametrize(("name", "path"), all_routes("customer", "calendars"))
def test_a_made_up_private_link_shows_nothing(client, shop, name, path):
    assert client.get(path).status_code in (404, 405), name
    assert client.post(path).status_code in (403, 404, 405), name


@pytest.mark.parametrize(("name", "path"), all_routes("owner"))
def test_an_owner_never_meets_a_500_with_a_made_up_address(owner_client, name, path):
    owner_client.raise_request_exception = False

    for method in (owner_client.get, owner_client.post):
        assert method(path).status_code < 500, (name, method.__name__)


@pytest.mark.parametrize(("name", "path"), all_routes("floor"))
def test_a_paired_tablet_never_meets_a_500_with_a_made_up_address(client, shop, name, path):
    pair(client)
    client.raise_request_exception = False

    for method in (client.get, client.post):
        assert method(path).status_code < 500, (name, method.__name__)


def pair(client) -> None:
    from builds.models import Tablet

    Tablet.objects.create(name="Bench tablet", token_hash=hash_of(TOKEN), paired_at=cast.NOW)
    client.cookies[COOKIE] = TOKEN
