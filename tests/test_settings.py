"""What production refuses to start with, and that it says why."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
GOOD_KEY = "k" * 60


def start(tmp_path, **environment) -> subprocess.CompletedProcess:
    plain = {k: v for k, v in os.environ.items() if k in ("PATH", "HOME", "LANG")}
    return subprocess.run(
        [sys.executable, "manage.py", "check"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        env=plain | {"BENCHWEEK_VAR": str(tmp_path)} | environment,
    )


def test_without_a_secret_key_it_does_not_start(tmp_path):
    answer = start(tmp_path)

    assert answer.returncode != 0
    assert "secret key of its own" in answer.stderr


def test_with_the_demos_key_it_does_not_start(tmp_path):
    from django.conf import settings

    answer = start(tmp_path, SECRET_KEY=settings.DEMO_KEY)

    assert answer.returncode != 0


def test_with_debugging_on_it_does_not_start(tmp_path):
    answer = start(tmp_path, SECRET_KEY=GOOD_KEY, DEBUG="yes")

    assert answer.returncode != 0
    assert "DEBUG" in answer.stderr


def test_with_a_key_of_its_own_it_starts(tmp_path):
    answer = start(tmp_path, SECRET_KEY=GOOD_KEY)

    assert answer.returncode == 0, answer.stderr


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("DEBUG", "maybe", "DEBUG must be yes or no"),
        ("DATABASE_URL", "mysql://x", "DATABASE_URL must start with"),
    ],
)
def test_a_setting_that_cannot_be_read_is_named(tmp_path, name, value, words):
    answer = start(tmp_path, SECRET_KEY=GOOD_KEY, **{name: value})

    assert answer.returncode != 0
    assert words in answer.stderr
