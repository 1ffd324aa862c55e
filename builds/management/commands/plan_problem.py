"""Plan a shop problem in a JSON file. Needs no database."""

from __future__ import annotations

from time import monotonic
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from builds.engines.planning.lateness import lateness
from builds.engines.planning.planner import plan_shop
from builds.engines.planning.search import improve
from builds.engines.planning.told import disturbance, keep_told
from builds.exchange.problem_files import UnreadableProblem, read_problem, read_told, write_plan

TOLD_SECONDS = 8.0
"""How long a plan that keeps what was told may take where nothing else is asked."""


class Command(BaseCommand):
    help = "Plan a shop problem in a JSON file and write the plan."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("problem", help="the problem, a JSON file")
        parser.add_argument("--out", required=True, help="where to write the plan")
        parser.add_argument("--seconds", type=float, default=0.0, help="how long to look for a better plan")
        parser.add_argument("--told", help="the plan that the crew knows, a JSON file")
        parser.add_argument("--seed", type=int, default=1, help="the same seed tries the same things")

    def handle(self, *args: Any, **options: Any) -> None:
        since = monotonic()
        try:
            problem = read_problem(options["problem"])
            told = read_told(options["told"]) if options["told"] else None
        except UnreadableProblem as wrong:
            raise CommandError(str(wrong)) from wrong
        if told is not None:
            seconds = (options["seconds"] or TOLD_SECONDS) - (monotonic() - since)
            plan = keep_told(problem, told, seconds=seconds, seed=options["seed"])
        else:
            plan = plan_shop(problem)
            left = options["seconds"] - (monotonic() - since)
            if left > 0:
                plan = improve(problem, plan, seconds=left, seed=options["seed"])
        write_plan(options["out"], problem, plan)
        late = lateness(problem, plan)
        self.stdout.write(
            f"{len(plan.planned)} tasks planned, {len(plan.unplanned)} not, "
            f"{late.weighted_days:.1f} weighted late days"
        )
        if told is not None:
            found = disturbance(told, plan)
            self.stdout.write(f"{found.moved:.1%} of {found.tasks} moved, {found.hands:.1%} change hands")
