"""A PIN that waits on a tablet: sealed there with the shop's public key, so that only the shop can read it.

The seal is made of standard pieces: an ephemeral key agreement on P-256 (NIST SP 800-56A), HKDF with
SHA-256 (RFC 5869) and AES-256-GCM (NIST SP 800-38D). It is bound to one form and its number, so that it
signs nothing else. The shop's key follows from its secret key and is stored nowhere.
"""

from __future__ import annotations

import base64
import binascii

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from django.conf import settings

from builds.actions.door import Refused

CURVE = ec.SECP256R1()
ORDER = 0xFFFFFFFF00000000FFFFFFFFFFFFFFFFBCE6FAADA7179E84F3B9CAC2FC632551
"""The order of P-256's base point (FIPS 186-4, D.1.2.3)."""
POINT_BYTES, NONCE_BYTES = 65, 12
LABEL = b"benchweek sealed pin"
UNREADABLE = "This signature can’t be read any more. Sign the check again."


def public_key() -> str:
    """The key that tablets seal with: an uncompressed P-256 point, in base64."""
    return base64.b64encode(_point(_private_key().public_key())).decode()


def unsealed(sealed: str, *, bound_to: str) -> str:
    """The PIN that was sealed for the form `bound_to`; refuses what is broken or of another form or key."""
    try:
        raw = base64.b64decode(sealed, validate=True)
        theirs = raw[:POINT_BYTES]
        nonce = raw[POINT_BYTES : POINT_BYTES + NONCE_BYTES]
        shared = _private_key().exchange(
            ec.ECDH(), ec.EllipticCurvePublicKey.from_encoded_point(CURVE, theirs)
        )
        key = HKDF(SHA256(), 32, salt=None, info=LABEL + theirs).derive(shared)
        opened = AESGCM(key).decrypt(nonce, raw[POINT_BYTES + NONCE_BYTES :], bound_to.encode())
        return opened.decode()
    except (ValueError, binascii.Error, InvalidTag):
        raise Refused(UNREADABLE, field="pin") from None


def _private_key() -> ec.EllipticCurvePrivateKey:
    secret = settings.SECRET_KEY.encode()
    number = int.from_bytes(HKDF(SHA256(), 40, salt=None, info=LABEL + b" key").derive(secret), "big")
    return ec.derive_private_key(number % (ORDER - 1) + 1, CURVE)


def _point(key: ec.EllipticCurvePublicKey) -> bytes:
    return key.public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)
