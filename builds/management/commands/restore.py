"""Put a backup of the shop back."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection
from django.utils import timezone

from builds.exchange.backup import BackupFailed, ShopFiles, restore


class Command(BaseCommand):
    help = "Put a backup where the settings say the database and the photos are. Stop Benchweek first."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--from", dest="source", required=True, type=Path, help="one dated backup")
        parser.add_argument(
            "--replace", action="store_true", help="set aside what is there (PostgreSQL: replace it)"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        files = ShopFiles(connection.settings_dict, Path(settings.MEDIA_ROOT))
        connection.close()
        try:
            aside = restore(files, source=options["source"], now=timezone.now(), replace=options["replace"])
        except BackupFailed as wrong:
            raise CommandError(str(wrong)) from wrong
        self.stdout.write(f"Restored from {options['source']}. Now run: manage.py migrate")
        for path in aside:
            self.stdout.write(f"What was there is kept as {path}")
