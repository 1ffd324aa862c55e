"""Plan a shop problem in a JSON file. Needs no database."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from builds.engines.planning.lateness import lateness
from builds.engines.planning.planner import plan_shop
from builds.exchange.problem_files import UnreadableProblem, read_problem, write_plan


class Command(BaseCommand):
    help = "Plan a shop problem in a JSON file and write the plan."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("problem", help="the problem, a JSON file")
        parser.add_argument("--out", required=True, help="where to write the plan")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            problem = read_problem(options["problem"])
        except UnreadableProblem as wrong:
            raise CommandError(str(wrong)) from wrong
        plan = plan_shop(problem)
        write_plan(options["out"], problem, plan)
        late = lateness(problem, plan)
        self.stdout.write(
            f"{len(plan.planned)} tasks planned, {len(plan.unplanned)} not, "
            f"{late.weighted_days:.1f} weighted late days"
        )
