"""Prints today's figures beside the goals: `measure pages`, `measure all`, and the parts beside them."""

from __future__ import annotations

from django.core.management import BaseCommand, CommandError, call_command

from builds.management.measuring.cutting import measure_cutting
from builds.management.measuring.figures import table
from builds.management.measuring.pages import measure_pages

PARTS = {"pages": ("The app", measure_pages), "cutting": ("Sheets and lengths", measure_cutting)}


class Command(BaseCommand):
    help = "Prints today's figures beside the goals."

    def add_arguments(self, parser):
        parser.add_argument("part", nargs="?", default="all", choices=["all", *PARTS])
        parser.add_argument("--whole", action="store_true", help="every instance, not only the sample")

    def handle(self, *, part, whole, **options):
        # htmx's own extensions, unused here, name imports in comments that the hashed store can't find.
        call_command("collectstatic", verbosity=0, interactive=False, ignore_patterns=["ext"])
        chosen = PARTS if part == "all" else {part: PARTS[part]}
        missed = 0
        for title, measure in chosen.values():
            figures = list(measure(whole=whole))
            missed += sum(f.is_met is False for f in figures)
            self.stdout.write(table(title, figures))
        if missed:
            raise CommandError(f"{missed} goals are not met.")
