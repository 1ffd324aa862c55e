"""A small certificate authority of the shop's own, so that tablets on its network may trust its https.

The authority is made once and trusted once on each tablet; the certificate that it signs is made anew
whenever it is about to end or the names change. The authority may sign for names of the local network
only (RFC 5280, section 4.2.1.10): whoever steals its key can pretend to be no bank.

Sources: RFC 5280 for the extensions; 398 days at most for a server's certificate and names in the
subject alternative name, as browsers ask of public ones (CA/Browser Forum baseline requirements, value
from memory).
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import ip_address, ip_network
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from .here import fingerprint_of

AUTHORITY_DAYS = 3650
SERVER_DAYS = 397
RENEW_DAYS = 45
SKEW = timedelta(days=1)
"""A tablet whose clock is a little slow still finds a fresh certificate begun."""
LOCAL_NETWORKS = (
    "10.0.0.0/8",
    "172.16.0.0/12",
    "192.168.0.0/16",
    "169.254.0.0/16",
    "127.0.0.0/8",
    "fc00::/7",
)
"""Private, link-local and own addresses: RFC 1918, RFC 3927, RFC 4193."""

CERTIFICATE, KEY, SERVER = "authority.pem", "authority-key.pem", "server.pem"


class LanError(Exception):
    """What keeps https from starting, in words that say what to do."""


@dataclass(frozen=True)
class Authority:
    """The shop's authority in its folder."""

    folder: Path
    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey

    @property
    def pem(self) -> bytes:
        return self.certificate.public_bytes(serialization.Encoding.PEM)

    @property
    def fingerprint(self) -> str:
        return fingerprint_of(self.certificate)

    def may_sign(self, name: str) -> bool:
        """Whether a name or address lies within what this authority was made for."""
        found = self.certificate.extensions.get_extension_for_class(x509.NameConstraints).value
        permitted = found.permitted_subtrees or []
        try:
            address = ip_address(name)
        except ValueError:
            known = [n.value for n in permitted if isinstance(n, x509.DNSName)]
            return any(name == one or name.endswith(f".{one}") for one in known)
        return any(address in n.value for n in permitted if isinstance(n, x509.IPAddress))


def authority_in(folder: Path, names: Sequence[str], now: datetime) -> Authority:
    """The authority kept in `folder`, made there if there is none; LanError if it can't be read or used."""
    paths = folder / CERTIFICATE, folder / KEY
    if any(path.exists() for path in paths):
        found = _read(folder)
    else:
        found = _made(folder, names, now)
    if not found.certificate.not_valid_before_utc <= now <= found.certificate.not_valid_after_utc:
        raise LanError(
            f"The authority in {folder} is good from {found.certificate.not_valid_before_utc:%d %b %Y} to "
            f"{found.certificate.not_valid_after_utc:%d %b %Y}; this machine's clock says {now:%d %b %Y}. "
            "Set the clock; if it is right, move the folder away and trust the new authority on each tablet."
        )
    outside = [name for name in names if not found.may_sign(name)]
    if outside:
        raise LanError(
            f"The authority in {folder} was not made for {', '.join(outside)}. Use the name it was made for, "
            "or move the folder away: a new one is made, to be trusted on each tablet again."
        )
    return found


def server_certificate(authority: Authority, names: Sequence[str], now: datetime) -> Path:
    """The file of key and certificate for `names`, made anew if missing, broken, ending or of others."""
    path = authority.folder / SERVER
    if not _is_good(path, authority, names, now):
        key = ec.generate_private_key(ec.SECP256R1())
        signed = _server(authority, names, key, now)
        _write(path, _key_pem(key) + signed.public_bytes(serialization.Encoding.PEM) + authority.pem)
    return path


def _is_good(path: Path, authority: Authority, names: Sequence[str], now: datetime) -> bool:
    try:
        raw = path.read_bytes()
        key = serialization.load_pem_private_key(raw, None)
        found = x509.load_pem_x509_certificates(raw)[0]
        found.verify_directly_issued_by(authority.certificate)
        known = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except Exception:  # Whatever is wrong with it, a new one is made.
        return False
    ends = found.not_valid_after_utc - timedelta(days=RENEW_DAYS)
    is_its_key = key.public_key() == found.public_key()
    return is_its_key and set(known) == set(_general(names)) and found.not_valid_before_utc <= now < ends


def _read(folder: Path) -> Authority:
    try:
        certificate = x509.load_pem_x509_certificate((folder / CERTIFICATE).read_bytes())
        key = serialization.load_pem_private_key((folder / KEY).read_bytes(), None)
        certificate.extensions.get_extension_for_class(x509.NameConstraints)
    except (OSError, ValueError, TypeError, x509.ExtensionNotFound) as error:
        raise LanError(
            f"The authority in {folder} can't be read ({error}). Put both files back from a copy, or move "
            "the folder away: a new one is made, to be trusted on each tablet again."
        ) from None
    if not isinstance(key, ec.EllipticCurvePrivateKey) or key.public_key() != certificate.public_key():
        raise LanError(f"The two files of the authority in {folder} don't belong together. Put both back.")
    return Authority(folder, certificate, key)


def _made(folder: Path, names: Sequence[str], now: datetime) -> Authority:
    key = ec.generate_private_key(ec.SECP256R1())
    who = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"Benchweek on {names[0]}"[:64])])
    certificate = (
        x509.CertificateBuilder()
        .subject_name(who)
        .issuer_name(who)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - SKEW)
        .not_valid_after(now + timedelta(days=AUTHORITY_DAYS))
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage("key_cert_sign", "crl_sign"), critical=True)
        .add_extension(x509.NameConstraints(_permitted(names), None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    _write(folder / KEY, _key_pem(key))
    _write(folder / CERTIFICATE, certificate.public_bytes(serialization.Encoding.PEM), mode=0o644)
    return Authority(folder, certificate, key)


def _permitted(names: Sequence[str]) -> list[x509.GeneralName]:
    """All of the local network, and the names and addresses that the shop has now."""
    networks = [x509.IPAddress(ip_network(known)) for known in LOCAL_NETWORKS]
    own: list[x509.GeneralName] = []
    for name in _general(names):
        if isinstance(name, x509.IPAddress):
            name = x509.IPAddress(ip_network(name.value))
        own.append(name)
    return [x509.DNSName("local"), x509.DNSName("localhost"), *networks, *own]


def _server(
    authority: Authority, names: Sequence[str], key: ec.EllipticCurvePrivateKey, now: datetime
) -> x509.Certificate:
    ends = min(now + timedelta(days=SERVER_DAYS), authority.certificate.not_valid_after_utc)
    of_authority = x509.AuthorityKeyIdentifier.from_issuer_public_key(authority.key.public_key())
    return (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, names[0][:64])]))
        .issuer_name(authority.certificate.subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(max(now - SKEW, authority.certificate.not_valid_before_utc))
        .not_valid_after(ends)
        .add_extension(x509.SubjectAlternativeName(_general(names)), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage("digital_signature"), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(of_authority, critical=False)
        .sign(authority.key, hashes.SHA256())
    )


def _usage(*allowed: str) -> x509.KeyUsage:
    kinds = ("digital_signature", "content_commitment", "key_encipherment", "data_encipherment")
    kinds += ("key_agreement", "key_cert_sign", "crl_sign", "encipher_only", "decipher_only")
    return x509.KeyUsage(**{kind: kind in allowed for kind in kinds})


def _general(names: Sequence[str]) -> list[x509.GeneralName]:
    found: list[x509.GeneralName] = []
    for name in names:
        try:
            found.append(x509.IPAddress(ip_address(name)))
        except ValueError:
            found.append(x509.DNSName(name))
    return found


def _key_pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    plain = serialization.NoEncryption()
    return key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, plain)


def _write(path: Path, data: bytes, mode: int = 0o600) -> None:
    """Whole or not at all: a power cut leaves the file as it was."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        beside = path.with_suffix(".new")
        beside.unlink(missing_ok=True)
        with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode), "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(beside, path)
    except OSError as error:
        raise LanError(
            f"{path} can't be written: {error.strerror}. Check the folder's owner and room."
        ) from None
