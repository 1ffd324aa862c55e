"""Prints today's figures beside the goals: `measure pages`, `measure all`, and the parts beside them.

`measure planning FILE...` plans the published projects in those files instead, a line each.
"""

from __future__ import annotations

import json
from pathlib import Path

from django.core.management import BaseCommand, CommandError, call_command

from builds.exchange.problem_files import UnreadableProblem
from builds.management.measuring.cutting import measure_cutting
from builds.management.measuring.figures import table
from builds.management.measuring.floor import measure_floor
from builds.management.measuring.pages import measure_pages
from builds.management.measuring.planning import measure_planning
from builds.management.measuring.projects import SECONDS, project_line

PARTS = {
    "pages": ("The app", measure_pages),
    "floor": ("The floor", measure_floor),
    "planning": ("Plans", measure_planning),
    "cutting": ("Sheets and lengths", measure_cutting),
}


class Command(BaseCommand):
    help = "Prints today's figures beside the goals."

    def add_arguments(self, parser):
        parser.add_argument("part", nargs="?", default="all", choices=["all", *PARTS])
        parser.add_argument("paths", nargs="*", help="with planning: .sm and .rcmp files to plan")
        parser.add_argument("--whole", action="store_true", help="every instance, not only the sample")
        parser.add_argument("--seconds", type=float, default=SECONDS, help="for each of the files")
        parser.add_argument("--workers", type=int, default=1, help="how many threads the solver uses")
        parser.add_argument("--json", action="store_true", help="a JSON line for each of the files")

    def handle(self, *, part, paths, whole, **options):
        if paths:
            if part != "planning":
                raise CommandError("Files go with `measure planning`.")
            self._files(paths, options["seconds"], options["workers"], options["json"])
            return
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

    def _files(self, paths, seconds, workers, as_json):
        for path in paths:
            try:
                line = project_line(Path(path), seconds=seconds, workers=workers)
            except UnreadableProblem as wrong:
                raise CommandError(str(wrong)) from wrong
            text = json.dumps(line) if as_json else "  ".join(f"{k} {v}" for k, v in line.items())
            self.stdout.write(text)
            self.stdout.flush()
