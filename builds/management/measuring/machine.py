"""Benchweek as it runs in a shop: a production server in processes of its own, that a proof may kill.

It works on the database of whoever starts it, so that they see every row it wrote.
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

from builds.management.commands.serve import WORKER

ROOT = Path(settings.BASE_DIR)


class Machine:
    """`var` is a folder of its own for static files and photos; `root` is the app's source.

    With `plans` the worker that makes new plans runs beside the server.
    """

    def __init__(self, var: Path, root: Path = ROOT, *, plans: bool = False) -> None:
        self.var, self.root, self.plans = var, root, plans
        self.port = free_port()
        self._run: subprocess.Popen | None = None
        self._worker: subprocess.Popen | None = None

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
            *["--bind", f"127.0.0.1:{self.port}", "--workers", "2", "--threads", "4"],
            *["--log-level", "error", "--timeout", "60"],
        ]
        self._run = self._begin(command)
        if self.plans:
            self._worker = self._begin([sys.executable, "manage.py", *WORKER], stderr=subprocess.DEVNULL)
        until = time.monotonic() + 30
        while not self._answers():
            assert time.monotonic() < until, "the server does not answer"
            assert self._run.poll() is None, "the server did not start"
            time.sleep(0.02)

    def kill(self) -> None:
        """SIGKILL to the server and all its workers at once: nobody gets to finish anything."""
        for run in filter(None, (self._run, self._worker)):
            with contextlib.suppress(ProcessLookupError):
                os.killpg(run.pid, signal.SIGKILL)
            run.wait()
        self._run = self._worker = None

    def collect_static(self) -> None:
        line = [sys.executable, "manage.py", "collectstatic", "--noinput", "-i", "ext", "-v", "0"]
        subprocess.run(line, cwd=self.root, env=self._env(), check=True)

    def _begin(self, command: list[str], **more) -> subprocess.Popen:
        return subprocess.Popen(command, cwd=self.root, env=self._env(), start_new_session=True, **more)

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
    """The address of the database that this process works on."""
    known = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{known['NAME']}"
    return f"postgresql://{known['USER']}:{known['PASSWORD']}@{known['HOST']}:{known['PORT']}/{known['NAME']}"


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as found:
        return found.getsockname()[1]
