"""Benchweek as it runs in a shop: a production server in processes of its own, that a test may kill.

It works on the database file of the test that starts it, so that the test sees every row it wrote.
"""

from __future__ import annotations

import contextlib
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

from django.conf import settings
from django.db import connection

ROOT = Path(settings.BASE_DIR)


class Machine:
    """`var` is a folder of its own for static files and photos; `root` is the app's source."""

    def __init__(self, var: Path, root: Path = ROOT, *, workers: int = 2) -> None:
        self.var, self.root, self.workers = var, root, workers
        self.port = free_port()
        self._run: subprocess.Popen | None = None

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def is_running(self) -> bool:
        return self._run is not None

    def start(self) -> None:
        """Starts the server and waits until it answers."""
        command = [
            *[sys.executable, "-m", "gunicorn", "workshop.wsgi:application"],
            *["--bind", f"127.0.0.1:{self.port}", "--workers", str(self.workers), "--threads", "4"],
            *["--log-level", "error", "--timeout", "60"],
        ]
        self._run = subprocess.Popen(command, cwd=self.root, env=self._env(), start_new_session=True)
        until = time.monotonic() + 30
        while not self._answers():
            assert time.monotonic() < until, "the server does not answer"
            assert self._run.poll() is None, "the server did not start"
            time.sleep(0.02)

    def kill(self) -> None:
        """SIGKILL to the server and all its workers at once: nobody gets to finish anything."""
        if self._run is not None:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(self._run.pid, signal.SIGKILL)
            self._run.wait()
            self._run = None

    def collect_static(self) -> None:
        line = [sys.executable, "manage.py", "collectstatic", "--noinput", "-i", "ext", "-v", "0"]
        subprocess.run(line, cwd=self.root, env=self._env(), check=True)

    def _answers(self) -> bool:
        try:
            with urllib.request.urlopen(f"{self.url}/hello/", timeout=5) as answer:
                return answer.status == 200
        except OSError:
            return False

    def _env(self) -> dict[str, str]:
        return {
            **os.environ,
            "BENCHWEEK_DEMO": "yes",
            "BENCHWEEK_VAR": str(self.var),
            "BENCHWEEK_MEDIA": str(self.var / "media"),
            "DATABASE_URL": database_url(),
        }


def database_url() -> str:
    """The address of the database that this test run works on."""
    known = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{known['NAME']}"
    return f"postgresql://{known['USER']}:{known['PASSWORD']}@{known['HOST']}:{known['PORT']}/{known['NAME']}"


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as found:
        return found.getsockname()[1]
