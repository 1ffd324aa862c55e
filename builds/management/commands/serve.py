"""Starts everything on this machine: migrates, fills an empty demo, serves, plans beside it."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time

from django.conf import settings
from django.core.management import BaseCommand, CommandError, call_command
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
        parser.add_argument(
            "--certificate", default="", help="a PEM file with key and certificate, for https"
        )
        parser.add_argument("--trust-port", type=int, default=0, help="hand out the authority on this port")

    def handle(self, *, host, port, web_workers, certificate, trust_port, **options):
        for wanted in filter(None, (port, trust_port)):
            _refuse_taken(host, wanted)
        call_command("migrate", verbosity=0)
        if not settings.DEMO:
            refuse_demo_passwords()
        # htmx's own extensions, unused here, name imports in comments that the hashed store can't find.
        call_command("collectstatic", verbosity=0, interactive=False, ignore_patterns=["ext"])
        if settings.DEMO and not Build.objects.exists():
            self.stdout.write("Filling the demo workshop, this takes a few seconds ...")
            self.stdout.flush()
            call_command("fill_demo")
        serving = [
            *[sys.executable, "-m", "gunicorn", "workshop.wsgi:application"],
            *["--bind", f"{host}:{port}", "--workers", str(web_workers), "--threads", "4"],
            *["--log-level", "warning", "--graceful-timeout", "5", "--timeout", "60"],
        ]
        if certificate:
            serving += ["--certfile", certificate, "--keyfile", certificate]
        trusting = [
            *[sys.executable, "-m", "gunicorn", "workshop.lan.trust_site:from_settings()"],
            *["--bind", f"{host}:{trust_port}", "--log-level", "warning", "--threads", "2"],
        ]
        self._say_where(settings.LAN_ADDRESSES[0] if certificate else f"http://{host}:{port}")
        self._run([serving, trusting] if trust_port else [serving])

    def _run(self, servers: list[list[str]]) -> None:
        manage = [sys.executable, str(settings.BASE_DIR / "manage.py")]
        parts = [
            subprocess.Popen([*manage, *WORKER, "--queue-name", "default", "--interval", "0.2"]),
            subprocess.Popen([*manage, *WORKER, "--queue-name", "long", "--interval", "2"]),
            *[subprocess.Popen(server, cwd=settings.BASE_DIR) for server in servers],
        ]
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

    def _say_where(self, address: str) -> None:
        self.stdout.write(f"\nBenchweek is on {address}  (Ctrl+C stops it)")
        if not User.objects.exists():
            self.stdout.write("  Nobody can sign in yet. The owner begins here, once:")
            self.stdout.write(f"  {address}{reverse('begin', args=[begin_token()])}")
        if settings.DEMO and os.environ.get("BENCHWEEK_QUIET") != "yes":
            known = {u.username for u in User.objects.all()}
            for name, word, what in DEMO_SIGN_INS:
                if name in known:
                    self.stdout.write(f"  Demo sign-in as {what}: {name} / {word}")
            self.stdout.write(f"  The fitters sign checks with the PIN {DEMO_PIN}")
        self.stdout.flush()


def _refuse_taken(host: str, port: int) -> None:
    """Says in a line what a server would say in twenty."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except (OSError, OverflowError) as error:
            why = str(getattr(error, "strerror", None) or error).rstrip(".")
            raise CommandError(
                f"{host}:{port} can't be used: {why}. Is Benchweek running already? Else choose another port."
            ) from None


def refuse_demo_passwords() -> None:
    """A real shop never opens with the demo's sign-in, which everybody knows: its database was left there."""
    for name, word, _ in DEMO_SIGN_INS:
        user = User.objects.filter(username=name, is_active=True).first()
        if user is not None and user.check_password(word):
            raise CommandError(
                f"This is the demo's database: “{name}” signs in with a password that everybody knows. "
                "For a real shop set BENCHWEEK_VAR to an empty folder; to show the demo, BENCHWEEK_DEMO=yes; "
                f"to keep it, change the password: manage.py changepassword {name}"
            )
