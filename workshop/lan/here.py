"""What the running Benchweek knows of its own https: set by `serve_lan` for the processes that it starts."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from django.conf import settings


@dataclass(frozen=True)
class Lan:
    """`addresses` by https; `trust` is the plain page that hands out the authority."""

    authority: Path
    addresses: tuple[str, ...]
    trust: str

    @property
    def pem(self) -> bytes:
        return self.authority.read_bytes()

    @property
    def fingerprint(self) -> str:
        return fingerprint_of(x509.load_pem_x509_certificate(self.pem))


def lan_here() -> Lan | None:
    """None where Benchweek was not started by `serve_lan`."""
    if not settings.LAN_AUTHORITY:
        return None
    return Lan(Path(settings.LAN_AUTHORITY), tuple(settings.LAN_ADDRESSES), settings.LAN_TRUST)


def fingerprint_of(certificate: x509.Certificate) -> str:
    """SHA-256 of a certificate as "AB CD ...", to be compared by eye."""
    return " ".join(f"{byte:02X}" for byte in certificate.fingerprint(hashes.SHA256()))
