"""Looks for a better plan and leaves it as a proposal for the owner; made to be run at night."""

from __future__ import annotations

from typing import Any

from django.core.management import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from builds.actions.door import Refused
from builds.actions.proposals import ask_for_better_plan, run_search


class Command(BaseCommand):
    help = "Looks for a better plan and leaves it as a proposal for the owner."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--seconds", type=int, default=600, help="how long to look at most")

    def handle(self, *args: Any, seconds: int, **options: Any) -> None:
        try:
            proposal = ask_for_better_plan(seconds=seconds, now=timezone.now(), by=None, in_worker=False)
        except Refused as refused:
            raise CommandError(refused.words) from refused
        run_search(proposal.pk)
        proposal.refresh_from_db()
        late = f"weighted late days {proposal.late_before:.1f} to {proposal.late_after:.1f}"
        self.stdout.write(f"{proposal.get_state_display().capitalize()}: {late}.")
