"""Starts everything on this machine: migrates, fills an empty demo, serves, plans beside it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time

from django.conf import settings
from django.core.management import BaseCommand, call_command
from django.urls import reverse

from builds.actions.beginning import begin_token
from builds.demo.sign_ins import DEMO_PIN, DEMO_SIGN_INS
from builds.models import Build, User

WORKER = ["db_worker", "--no-startup-delay", "--no-reload"]


class Command(BaseCommand):
    help = "Migrates, fills an empty demo and serves with a production server and two task workers."

    def add_arguments(self, parser):
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--web-workers", type=int, default=2)

    def handle(self, *, host, port, web_workers, **options):
        call_command("migrate", verbosity=0)
        # htmx's own extensions, unused here, name imports in comments that the hashed store can't find.
        call_command("collectstatic", verbosity=0, interactive=False, ignore_patterns=["ext"])
        if settings.DEMO and not Build.objects.exists():
            self.stdout.write("Filling the demo workshop, this takes a few seconds ...")
            self.stdout.flush()
            call_command("fill_demo")
        self._run(host, port, web_workers)

    def _run(self, host: str, port: int, web_workers: int) -> None:
        manage = [sys.executable, str(settings.BASE_DIR / "manage.py")]
        parts = [
            subprocess.Popen([*manage, *WORKER, "--queue-name", "default", "--interval", "0.2"]),
            subprocess.Popen([*manage, *WORKER, "--queue-name", "long", "--interval", "2"]),
            subprocess.Popen(
                [
                    *[sys.executable, "-m", "gunicorn", "workshop.wsgi:application"],
                    *["--bind", f"{host}:{port}", "--workers", str(web_workers), "--threads", "4"],
                    *["--log-level", "warning", "--graceful-timeout", "5", "--timeout", "60"],
                ],
                cwd=settings.BASE_DIR,
            ),
        ]
        self._say_where(host, port)
        signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
        try:
            while all(part.poll() is None for part in parts):
                time.sleep(0.5)
            self.stderr.write("A part of Benchweek stopped; stopping the others. See the lines above.")
        except KeyboardInterrupt:
            self.stdout.write("Stopping.")
        finally:
            for part in parts:
                if part.poll() is None:
                    part.send_signal(signal.SIGTERM)
            for part in parts:
                part.wait(timeout=20)

    def _say_where(self, host: str, port: int) -> None:
        self.stdout.write(f"\nBenchweek is on http://{host}:{port}  (Ctrl+C stops it)")
        if not User.objects.exists():
            self.stdout.write("  Nobody can sign in yet. The owner begins here, once:")
            self.stdout.write(f"  http://{host}:{port}{reverse('begin', args=[begin_token()])}")
        if settings.DEMO and os.environ.get("BENCHWEEK_QUIET") != "yes":
            known = {u.username for u in User.objects.all()}
            for name, word, what in DEMO_SIGN_INS:
                if name in known:
                    self.stdout.write(f"  Demo sign-in as {what}: {name} / {word}")
            self.stdout.write(f"  The fitters sign checks with the PIN {DEMO_PIN}")
        self.stdout.flush()
