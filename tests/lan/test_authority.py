"""The shop's own authority and its certificate, checked by two independent implementations of X.509.

Sources: RFC 5280 (name constraints 4.2.1.10, alternative names 4.2.1.6), as `openssl verify -x509_strict` and
Python's ssl module read it. At most 398 days for a server's certificate: CA/Browser Forum baseline
requirements, value from memory.
"""

from __future__ import annotations

import socket
import ssl
import subprocess
import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec

from workshop.lan import authority as lan
from workshop.lan.authority import Authority, LanError, authority_in, server_certificate

NAMES = ["shed.local", "192.168.4.20", "localhost", "127.0.0.1"]
NOW = datetime.now(UTC).replace(microsecond=0)
"""Real: OpenSSL and Python's ssl read the clock themselves."""
DAY = timedelta(days=1)


@pytest.fixture
def made(tmp_path) -> Authority:
    return authority_in(tmp_path / "lan", NAMES, NOW)


def certificate_in(path: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificate(path.read_bytes())


def openssl_says(made: Authority, server: Path, *more: str) -> str:
    line = [
        "openssl",
        "verify",
        "-x509_strict",
        "-CAfile",
        str(made.folder / lan.CERTIFICATE),
        *more,
        str(server),
    ]
    run = subprocess.run(line, capture_output=True, text=True, check=False)
    return run.stdout + run.stderr


@pytest.mark.parametrize(
    "name", ["-verify_hostname shed.local", "-verify_ip 192.168.4.20", "-verify_ip 127.0.0.1"]
)
def test_openssl_finds_the_certificate_good_for_every_name(made, name):
    server = server_certificate(made, NAMES, NOW)

    assert openssl_says(made, server, *name.split()).endswith(": OK\n")


def test_openssl_finds_it_good_for_no_other_name(made):
    server = server_certificate(made, NAMES, NOW)

    assert "hostname mismatch" in openssl_says(made, server, "-verify_hostname", "other.local").lower()


def test_the_authority_can_vouch_for_nothing_outside_the_shop(made):
    key = ec.generate_private_key(ec.SECP256R1())
    stolen = lan._server(made, ["bank.example"], key, NOW)
    path = made.folder / "stolen.pem"
    path.write_bytes(stolen.public_bytes(serialization.Encoding.PEM))

    assert "permitted subtree violation" in openssl_says(made, path)
    with pytest.raises(LanError, match=r"was not made for bank\.example"):
        authority_in(made.folder, ["bank.example"], NOW)


def shaken_hands(server: Path, made: Authority | None, name: str) -> str:
    """What Python's ssl says of a server with this certificate, met under `name`."""
    behind = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    behind.load_cert_chain(server)
    before = ssl.create_default_context(cafile=str(made.folder / lan.CERTIFICATE) if made else None)
    ours, theirs = socket.socketpair()

    def serve() -> None:
        try:
            behind.wrap_socket(theirs, server_side=True).close()
        except (ssl.SSLError, OSError):
            theirs.close()

    thread = threading.Thread(target=serve)
    thread.start()
    try:
        with before.wrap_socket(ours, server_hostname=name) as found:
            return found.version() or ""
    except ssl.SSLCertVerificationError as error:
        return error.verify_message
    finally:
        ours.close()
        thread.join()


def test_a_tablet_that_trusts_the_authority_shakes_hands_and_another_does_not(made):
    server = server_certificate(made, NAMES, NOW)

    assert shaken_hands(server, made, "shed.local") == "TLSv1.3"
    assert shaken_hands(server, made, "192.168.4.20") == "TLSv1.3"
    assert "match" in shaken_hands(server, made, "other.local")
    assert "self-signed certificate" in shaken_hands(server, None, "shed.local")


def test_the_certificate_lasts_as_long_as_browsers_take_and_begins_yesterday(made):
    found = certificate_in(server_certificate(made, NAMES, NOW))

    assert found.not_valid_after_utc - found.not_valid_before_utc <= timedelta(days=398)
    assert found.not_valid_before_utc == NOW - DAY
    assert made.certificate.not_valid_after_utc == NOW + timedelta(days=3650)


@pytest.mark.parametrize(
    ("days", "names", "is_new"),
    [
        (0, NAMES, False),
        (397 - 45 - 1, NAMES, False),
        (397 - 45, NAMES, True),
        (3000, NAMES, True),
        (0, [*NAMES, "192.168.4.21"], True),
        (0, NAMES[1:], True),
    ],
)
def test_it_is_renewed_before_it_ends_and_when_the_names_change_under_the_same_authority(
    made, days, names, is_new
):
    before = server_certificate(made, NAMES, NOW).read_bytes()
    then = NOW + days * DAY

    again = authority_in(made.folder, names, then)
    after = server_certificate(again, names, then).read_bytes()

    assert (after != before) is is_new
    assert again.pem == made.pem


@pytest.mark.parametrize(
    "broken", [b"", b"junk", b"-----BEGIN CERTIFICATE-----\nAAAA\n-----END CERTIFICATE-----\n"]
)
def test_a_broken_certificate_is_made_anew(made, broken):
    path = server_certificate(made, NAMES, NOW)
    whole = path.read_bytes()

    for content in (broken, whole[: len(whole) // 2], whole.replace(b"PRIVATE KEY", b"PUBLIC KEY")):
        path.write_bytes(content)
        server_certificate(made, NAMES, NOW)

        assert openssl_says(made, path).endswith(": OK\n")


def test_a_certificate_of_another_authority_is_made_anew(made, tmp_path):
    other = authority_in(tmp_path / "other", NAMES, NOW)
    path = made.folder / lan.SERVER
    path.write_bytes(server_certificate(other, NAMES, NOW).read_bytes())

    server_certificate(made, NAMES, NOW)

    assert openssl_says(made, path).endswith(": OK\n")


def test_keys_are_for_their_own_user_only(made):
    server = server_certificate(made, NAMES, NOW)

    assert oct(made.folder.stat().st_mode & 0o777) == "0o700"
    for path in (server, made.folder / lan.KEY):
        assert oct(path.stat().st_mode & 0o777) == "0o600"


@pytest.mark.parametrize("file", [lan.CERTIFICATE, lan.KEY])
@pytest.mark.parametrize("content", [None, b"", b"half a fi"])
def test_an_authority_that_is_lost_or_broken_is_never_replaced_in_silence(made, file, content):
    path = made.folder / file
    path.unlink() if content is None else path.write_bytes(content)

    with pytest.raises(LanError, match="Put both files back from a copy"):
        authority_in(made.folder, NAMES, NOW)


def test_two_halves_of_different_authorities_are_told(made, tmp_path):
    other = authority_in(tmp_path / "other", NAMES, NOW)
    (made.folder / lan.KEY).write_bytes((other.folder / lan.KEY).read_bytes())

    with pytest.raises(LanError, match="don't belong together"):
        authority_in(made.folder, NAMES, NOW)


@pytest.mark.parametrize("days", [-3, 3651])
def test_a_clock_that_is_far_off_is_told(made, days):
    with pytest.raises(LanError, match="Set the clock"):
        authority_in(made.folder, NAMES, NOW + days * DAY)


def test_what_can_not_be_written_is_told(tmp_path):
    (tmp_path / "lan").write_text("a file where the folder should be")

    with pytest.raises(LanError, match="can't be written"):
        authority_in(tmp_path / "lan", NAMES, NOW)


def test_a_start_that_broke_off_in_writing_is_no_hindrance(made):
    (made.folder / "server.new").write_bytes(b"half")

    assert openssl_says(made, server_certificate(made, NAMES, NOW)).endswith(": OK\n")
