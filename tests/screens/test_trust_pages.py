"""Trusting the shop's https: the owner's page of steps, and the loud word where there is no https."""

from __future__ import annotations

import pytest
from django.urls import reverse

from tests.lan.cast import served_on_the_lan
from tests.screens.test_access import pair

OFF = "Work without network is off here"


@pytest.fixture
def on_the_lan(settings, tmp_path):
    return served_on_the_lan(settings, tmp_path)


def test_the_owner_sees_the_steps_the_fingerprint_and_the_address(client, shop, owner, on_the_lan):
    client.force_login(owner)

    page = client.get(reverse("owner:tablet-trust")).content.decode()

    for words in (on_the_lan.fingerprint, "http://192.168.4.20:8080/", "https://shed.local:8443", "Windows"):
        assert words in page
    drawing = client.get(reverse("owner:trust-drawing"))
    assert (drawing["Content-Type"], drawing.content[:5]) == ("image/svg+xml", b"<?xml")
    file = client.get(reverse("owner:trust-authority"))
    assert (file["Content-Type"], file.content) == ("application/x-x509-ca-cert", on_the_lan.pem)


def test_without_https_of_its_own_the_page_says_how_to_start_it(client, shop, owner):
    client.force_login(owner)

    assert "make serve-lan" in client.get(reverse("owner:tablet-trust")).content.decode()
    assert client.get(reverse("owner:trust-drawing")).status_code == 404
    assert client.get(reverse("owner:trust-authority")).status_code == 404


@pytest.mark.parametrize(
    ("host", "secure", "is_off"),
    [
        ("192.168.4.20:8000", False, True),
        ("shed.local", False, True),
        ("127.0.0.1.example:8000", False, True),
        ("192.168.4.20:8443", True, False),
        ("127.0.0.1:8000", False, False),
        ("localhost", False, False),
        ("[::1]:8000", False, False),
    ],
)
def test_plain_http_is_warned_of_loudly_wherever_it_matters(
    host, secure, is_off, client, small_build, joiner, owner, settings
):
    settings.ALLOWED_HOSTS = ["*"]
    pair(client)
    client.force_login(owner)
    sheet = reverse("floor:job-sheet", args=[joiner.pk])

    for path in (reverse("floor:names"), sheet, reverse("owner:tablet-list")):
        page = client.get(path, headers={"host": host}, secure=secure).content.decode()

        assert (OFF in page) is is_off
        assert page.count('role="alert"') == is_off
