"""The plain site hands out the authority and its steps, and nothing else."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from wsgiref.util import setup_testing_defaults
from wsgiref.validate import validator

import pytest
from django.conf import settings

from workshop.lan.authority import authority_in
from workshop.lan.trust_site import AUTHORITY, site, style_of

ADDRESSES = ["https://shed.local:8443", "https://192.168.4.20:8443"]


@pytest.fixture
def made(tmp_path):
    return authority_in(tmp_path / "lan", ["shed.local", "192.168.4.20"], datetime.now(UTC))


@pytest.fixture
def ask(made):
    style = style_of(Path(settings.BASE_DIR))
    asked = validator(site(pem=made.pem, fingerprint=made.fingerprint, addresses=ADDRESSES, style=style))

    def ask(path: str, method: str = "GET"):
        environ: dict = {"PATH_INFO": path, "REQUEST_METHOD": method, "SCRIPT_NAME": "", "QUERY_STRING": ""}
        setup_testing_defaults(environ)
        heard: dict = {}
        answer = asked(environ, lambda status, headers: heard.update(status=status, headers=dict(headers)))
        body = b"".join(answer)
        answer.close()
        return heard["status"], heard["headers"], body

    return ask


def test_the_steps_show_the_fingerprint_and_every_https_address(ask, made):
    status, headers, body = ask("/")

    assert status == "200 OK"
    assert headers["Content-Security-Policy"].startswith("default-src 'none'")
    for words in (made.fingerprint, *ADDRESSES, AUTHORITY, "Android", "iPad", "Windows"):
        assert words in body.decode()
    assert "<script" not in body.decode()
    assert "style=" not in body.decode()


def test_the_authority_comes_as_a_certificate_without_its_key(ask, made):
    status, headers, body = ask(AUTHORITY)

    assert (status, headers["Content-Type"]) == ("200 OK", "application/x-x509-ca-cert")
    assert body == made.pem
    assert b"PRIVATE" not in body


@pytest.mark.parametrize(
    "path", ["/authority-key.pem", "/server.pem", "/../lan/authority-key.pem", "/floor/", "//"]
)
def test_there_is_nothing_else(ask, path):
    assert ask(path)[0] == "404 Not Found"


def test_nothing_is_taken(ask):
    assert ask("/", "POST")[0] == "404 Not Found"
    assert ask("/", "HEAD")[2] == b""


def test_its_style_fetches_nothing_more(ask):
    _, headers, body = ask("/trust.css")

    assert headers["Content-Type"] == "text/css; charset=utf-8"
    assert b"url(" not in body
    assert b"@import" not in body
