"""Prints the service units for a small machine that is always on, with this folder's own paths filled in."""

from __future__ import annotations

import getpass
import re
import sys
from pathlib import Path

from django.conf import settings
from django.core.management import BaseCommand, CommandError

PLAIN = re.compile(r"[A-Za-z0-9/._-]*")
SERVER = """\
[Unit]
Description=Benchweek
After=network-online.target
Wants=network-online.target

[Service]
User={user}
WorkingDirectory={root}
EnvironmentFile=-/etc/benchweek.env
ExecStart={python} {root}/manage.py {serve}
Restart=always
RestartSec=5

[Install]
WantedBy=multi-user.target
"""
BACKUP = """\
[Unit]
Description=Backup of Benchweek

[Service]
Type=oneshot
User={user}
WorkingDirectory={root}
EnvironmentFile=-/etc/benchweek.env
ExecStart={python} {root}/manage.py backup --to {backups} --keep 14
"""
TIMER = """\
[Unit]
Description=Backup of Benchweek every night

[Timer]
OnCalendar=*-*-* 02:00
Persistent=true

[Install]
WantedBy=timers.target
"""


class Command(BaseCommand):
    help = "Service units: start with the machine and after a power cut, back up every night."

    def add_arguments(self, parser):
        parser.add_argument("--user", default=getpass.getuser(), help="who Benchweek runs as")
        parser.add_argument("--backups", default="/media/backups", help="the folder of the backups")
        parser.add_argument("--name", default="", help="the name tablets type, for https on the network")
        parser.add_argument("--plain", action="store_true", help="behind a proxy of your own, without https")
        parser.add_argument("--out", default="", help="write the files into this folder")

    def handle(self, *, user, backups, name, plain, out, **options):
        https = f"serve_lan --name {name}" if name else "serve_lan"
        filled = {
            "user": user,
            "root": settings.BASE_DIR,
            "python": sys.executable,
            "serve": "serve --host 127.0.0.1 --port 8000" if plain else https,
            "backups": Path(backups).absolute(),
        }
        for value in (user, name, settings.BASE_DIR, sys.executable, filled["backups"]):
            if not PLAIN.fullmatch(str(value)):
                raise CommandError(f"“{value}” can't stand in a service unit: letters, digits and /._- only.")
        units = {
            "benchweek.service": SERVER.format(**filled),
            "benchweek-backup.service": BACKUP.format(**filled),
            "benchweek-backup.timer": TIMER,
        }
        for file, text in units.items():
            self._give(file, text, out)

    def _give(self, file: str, text: str, out: str) -> None:
        if not out:
            self.stdout.write(f"# /etc/systemd/system/{file}\n{text}")
            return
        try:
            (Path(out) / file).write_text(text)
        except OSError as error:
            raise CommandError(f"{out}/{file} can't be written: {error.strerror}.") from None
        self.stdout.write(f"Wrote {out}/{file}")
