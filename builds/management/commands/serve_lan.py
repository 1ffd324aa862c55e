"""Serves Benchweek by https on the shop's own network, under an authority that the shop makes itself."""

from __future__ import annotations

import io
import os
import secrets
import signal
import subprocess
import sys
from pathlib import Path

import segno
from django.conf import settings
from django.core.management import BaseCommand, CommandError
from django.utils import timezone

from workshop.lan.authority import CERTIFICATE, Authority, LanError, authority_in, server_certificate
from workshop.lan.names import addresses, own_name, says_its_name

LOOK_AGAIN_SECONDS = 60
ALWAYS = ["localhost", "127.0.0.1"]


class Command(BaseCommand):
    help = "Serves by https on the network of the shop, so that tablets work without network too."

    def add_arguments(self, parser):
        parser.add_argument(
            "--name", default="", help="the name tablets type; at first this machine's, .local"
        )
        parser.add_argument("--port", type=int, default=8443)
        parser.add_argument("--trust-port", type=int, default=8080)
        parser.add_argument("--web-workers", type=int, default=2)

    def handle(self, *, name, port, trust_port, web_workers, **options):
        folder = settings.VAR_DIR / "lan"
        signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
        try:
            name = own_name(name)
            while True:
                here = addresses()
                names = [name, *here, *ALWAYS]
                authority = authority_in(folder, names, timezone.now())
                certificate = server_certificate(authority, names, timezone.now())
                environment = self._environment(folder, name, here, port, trust_port)
                self._say(authority, environment, has_network=bool(here))
                line = ["--host", "0.0.0.0", "--port", str(port), "--trust-port", str(trust_port)]
                line += ["--certificate", str(certificate), "--web-workers", str(web_workers)]
                self._serve_while(line, environment, authority, names, name)
        except LanError as error:
            raise CommandError(str(error)) from None

    def _environment(self, folder: Path, name: str, here: list[str], port: int, trust_port: int):
        hosts = [name, *here, *ALWAYS]
        known = os.environ.get("ALLOWED_HOSTS", "").split(",")
        return os.environ | {
            "SECRET_KEY": os.environ.get("SECRET_KEY") or _kept_secret(folder.parent / "secret-key"),
            "HTTPS": "yes",
            "ALLOWED_HOSTS": ",".join(filter(None, [*known, *hosts])),
            "BENCHWEEK_LAN_AUTHORITY": str(folder / CERTIFICATE),
            "BENCHWEEK_LAN_ADDRESSES": ",".join(f"https://{host}:{port}" for host in [name, *here]),
            "BENCHWEEK_LAN_TRUST": f"http://{here[0] if here else name}:{trust_port}/",
        }

    def _serve_while(
        self, line: list[str], environment: dict, authority: Authority, names: list[str], name: str
    ) -> None:
        """Serves until this machine's addresses change; a certificate about to end is renewed meanwhile."""
        serve = [sys.executable, str(settings.BASE_DIR / "manage.py"), "serve", *line]
        run = subprocess.Popen(serve, env=environment)
        try:
            while _is_up(run, LOOK_AGAIN_SECONDS):
                if (here := addresses()) and {name, *here, *ALWAYS} != set(names):
                    self.stdout.write(f"This machine is now at {', '.join(here)}. Starting anew there.")
                    return
                server_certificate(authority, names, timezone.now())
            raise CommandError("Benchweek stopped. See the lines above.")
        except KeyboardInterrupt:
            sys.exit(0)
        finally:
            if run.poll() is None:
                run.terminate()
                run.wait(timeout=30)

    def _say(self, authority: Authority, environment: dict, *, has_network: bool) -> None:
        trust = environment["BENCHWEEK_LAN_TRUST"]
        self.stdout.write("\nBy https on this network:")
        for address in environment["BENCHWEEK_LAN_ADDRESSES"].split(","):
            self.stdout.write(f"  {address}")
        self.stdout.write(f"\nOnce on each tablet: open {trust} and follow the steps there.")
        drawing = io.StringIO()
        segno.make(trust, error="m").terminal(out=drawing, border=2, compact=True)
        self.stdout.write(drawing.getvalue())
        self.stdout.write("Compare the fingerprint there with this one before you trust it:")
        words = authority.fingerprint.split()
        self.stdout.write(f"  {' '.join(words[:16])}\n  {' '.join(words[16:])}")
        if not has_network:
            self.stderr.write("This machine has no network: no tablet can reach it until it has.")
        elif environment["BENCHWEEK_LAN_ADDRESSES"].split(",")[0].endswith(".local") and not says_its_name():
            self.stderr.write(
                "Nothing here answers for the .local name; type the address with numbers instead."
            )
        if settings.DEMO:
            self.stderr.write(
                "THIS IS THE DEMO: everybody knows its passwords, so everybody on this network can sign in. "
                "Put nothing of a real customer into it."
            )
        self.stdout.flush()


def _is_up(run: subprocess.Popen, seconds: float) -> bool:
    try:
        run.wait(seconds)
    except subprocess.TimeoutExpired:
        return True
    return False


def _kept_secret(path: Path) -> str:
    """The shop's secret key, made once; readable by its own user only."""
    try:
        if not path.exists():
            path.parent.mkdir(parents=True, exist_ok=True)
            with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
                file.write(secrets.token_urlsafe(50))
        found = path.read_text().strip()
    except OSError as error:
        raise CommandError(f"{path} can't be read or written: {error.strerror}.") from None
    if len(found) < 32:
        raise CommandError(
            f"{path} is too short to be a secret key. Delete it; then everybody signs in anew."
        )
    return found
