"""Make a backup of the shop: database, photos and papers."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection
from django.utils import timezone

from builds.exchange.backup import KEEP, BackupFailed, ShopFiles, back_up


class Command(BaseCommand):
    help = "Make a backup of the database, the photos and the papers; the shop may go on working."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--to", required=True, type=Path, help="the folder that keeps the backups")
        parser.add_argument("--keep", type=int, default=KEEP, help="how many stay")

    def handle(self, *args: Any, **options: Any) -> None:
        files = ShopFiles(connection.settings_dict, Path(settings.MEDIA_ROOT))
        try:
            made = back_up(files, to=options["to"], now=timezone.now(), keep=options["keep"])
        except BackupFailed as wrong:
            raise CommandError(str(wrong)) from wrong
        self.stdout.write(f"Backed up to {made}")
