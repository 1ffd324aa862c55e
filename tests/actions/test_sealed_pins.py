"""PINs sealed by the tablet's own script are read by the shop alone, and for one form alone."""

from __future__ import annotations

import base64
import subprocess
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric import ec

from builds.actions import sealed_pins
from builds.actions.door import Refused

ROOT = Path(__file__).parents[2]
FORM = "/floor/3/check/5/ 7a0b"
SEALS = """
import { seal } from "./static/js/lib/seal.js";
const [pin, key, boundTo] = process.argv.slice(1);
console.log(await seal(pin, key, boundTo));
"""


def sealed_by_the_tablet(pin: str, bound_to: str = FORM) -> str:
    run = [
        "node",
        "--input-type=module",
        "--no-warnings",
        "-e",
        SEALS,
        pin,
        sealed_pins.public_key(),
        bound_to,
    ]
    return subprocess.run(run, cwd=ROOT, check=True, capture_output=True, text=True).stdout.strip()


def test_the_shop_reads_what_the_tablet_sealed():
    sealed = sealed_by_the_tablet("24680")

    assert sealed_pins.unsealed(sealed, bound_to=FORM) == "24680"
    assert b"24680" not in base64.b64decode(sealed)


def test_a_seal_signs_no_other_form_and_under_no_other_key(settings):
    sealed = sealed_by_the_tablet("24680")

    with pytest.raises(Refused, match="Sign the check again"):
        sealed_pins.unsealed(sealed, bound_to="/floor/4/check/5/ 7a0b")
    settings.SECRET_KEY = "another secret of another shop, long enough"
    with pytest.raises(Refused, match="Sign the check again"):
        sealed_pins.unsealed(sealed, bound_to=FORM)


@pytest.mark.parametrize("broken", ["", "x", "AAAA", "é", base64.b64encode(b"\x04" + bytes(120)).decode()])
def test_what_is_no_seal_is_refused_in_words(broken):
    with pytest.raises(Refused, match="Sign the check again"):
        sealed_pins.unsealed(broken, bound_to=FORM)


def test_the_keys_are_points_of_the_curve_that_follow_from_the_secret(settings):
    keys = set()
    for n in range(20):
        settings.SECRET_KEY = f"a secret key for a test, number {n}"
        keys.add(sealed_pins.public_key())
        raw = base64.b64decode(sealed_pins.public_key())
        ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), raw)

    assert len(keys) == 20
