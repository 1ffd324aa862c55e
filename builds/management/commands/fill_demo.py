"""Fills an empty database with the demo workshop."""

from __future__ import annotations

from django.conf import settings
from django.core.management import BaseCommand, CommandError
from django.utils import timezone

from builds.demo.fill import fill_demo, today_at
from builds.models import Build


class Command(BaseCommand):
    help = "Fills an empty database with the demo workshop; everything in it is invented."

    def handle(self, **options):
        if not settings.DEMO:
            raise CommandError("The demo is only for the demo: set BENCHWEEK_DEMO=yes.")
        if Build.objects.exists():
            raise CommandError("There are builds already; the demo fills an empty database only.")
        fill_demo(today_at(timezone.now()), say=self._say)

    def _say(self, words: str) -> None:
        self.stdout.write(words)
        self.stdout.flush()
