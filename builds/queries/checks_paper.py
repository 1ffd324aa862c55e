"""All checks of a build as they are printed: readings, who signed, what was overruled and why."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime

from builds.models import Build, CheckRecord, HoldPoint, Shop
from builds.queries.check_page import CheckPast, past_line
from builds.templatetags.words import day_year, moment

STATE_WORDS = {
    "due": "not checked yet",
    "passed": "passed",
    "failed": "failed, waits for a recheck",
    "overruled": "overruled by the owner",
    "reopened": "to be checked again",
}


@dataclass(frozen=True)
class CheckOnPaper:
    name: str
    task: str
    state: str
    is_overruled: bool
    competent_person: str
    certificate: str
    past: tuple[CheckPast, ...]


@dataclass(frozen=True)
class ChecksPaper:
    """The paper of one build; `overruled` names the checks that were let go without a pass."""

    shop_name: str
    made_words: str
    title: str
    van: str
    registration: str
    on: str
    checks: tuple[CheckOnPaper, ...]

    @property
    def overruled(self) -> tuple[str, ...]:
        return tuple(check.name for check in self.checks if check.is_overruled)


def checks_paper(build: Build, now: datetime) -> ChecksPaper:
    """Reads every check of a build with all that was signed, oldest first; three queries."""
    rows = HoldPoint.objects.filter(task__build=build, task__removed_at=None).select_related("task")
    checks = list(rows.order_by("task__order", "pk"))
    past: dict[int, list[CheckRecord]] = defaultdict(list)
    signed = CheckRecord.objects.filter(hold_point__in=checks).select_related("person", "user")
    for row in signed.order_by("at", "pk"):
        past[row.hold_point_id].append(row)
    return ChecksPaper(
        shop_name=Shop.objects.get(pk=1).name,
        made_words=f"Printed {moment(now)}",
        title=f"Hold points of {build.name}",
        van=build.name,
        registration=build.registration,
        on=day_year(now),
        checks=tuple(_on_paper(check, past[check.pk]) for check in checks),
    )


def _on_paper(check: HoldPoint, rows: list[CheckRecord]) -> CheckOnPaper:
    return CheckOnPaper(
        name=check.name,
        task=check.task.name,
        state=STATE_WORDS[check.state],
        is_overruled=check.state == "overruled",
        competent_person=check.competent_person,
        certificate=check.certificate or ("not on record" if check.certificate_due else ""),
        past=tuple(past_line(check, row, moment(row.at)) for row in rows),
    )
