"""Cut a list of parts, or of lengths, in a JSON file. Needs no database."""

from __future__ import annotations

from time import monotonic
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from builds.engines.cutting.cutter import cut_sheets
from builds.engines.cutting.errors import CuttingError
from builds.engines.cutting.lengths import cut_lengths
from builds.engines.cutting.pieces import SheetProblem
from builds.exchange.cutting_files import (
    LengthsProblem,
    UnreadableCuttingList,
    read_cutting_list,
    write_layout,
    write_lengths,
)

SOLVER_SECONDS = 1.0


class Command(BaseCommand):
    help = "Lay out the parts, or cut the lengths, of a JSON file and write the layout."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("problem", help="the parts and the stock, a JSON file")
        parser.add_argument("--out", required=True, help="where to write the layout")
        parser.add_argument("--seconds", type=float, default=0.0, help="how long to look for a better one")
        parser.add_argument("--seed", type=int, default=1, help="the same seed tries the same things")

    def handle(self, *args: Any, **options: Any) -> None:
        since = monotonic()
        try:
            problem = read_cutting_list(options["problem"])
            left = max(0.0, options["seconds"] - (monotonic() - since))
            words = _cut(problem, left, options)
        except (UnreadableCuttingList, CuttingError) as wrong:
            raise CommandError(str(wrong)) from wrong
        self.stdout.write(words)


def _cut(problem: SheetProblem | LengthsProblem, seconds: float, options: dict[str, Any]) -> str:
    if isinstance(problem, LengthsProblem):
        cut = cut_lengths(
            problem.stock_tenths, problem.kerf_tenths, problem.pieces, seconds=seconds or SOLVER_SECONDS
        )
        write_lengths(options["out"], cut)
        proven = "proven fewest" if cut.is_proven else f"at least {cut.bound}"
        return f"{len(cut.lengths)} lengths, {proven}, {len(cut.unplaced)} pieces too long"
    layout = cut_sheets(problem, seconds=seconds, seed=options["seed"])
    write_layout(options["out"], layout)
    leftover = layout.largest_leftover / 1e8
    return (
        f"{len(layout.sheets)} sheets, {layout.cuts} cuts in {layout.levels} levels, largest leftover "
        f"{leftover:.2f} m², {sum(layout.unplaced.values())} parts unplaced"
    )
