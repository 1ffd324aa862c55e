"""A better layout when the owner asks: searched in the task worker, put in the plan if it is better.

The plan's row tells how far it is and is told to stop. A worker that dies is found unheard of, and the
search can be asked for again: nothing of the plan is touched before its end.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from decimal import Decimal
from time import monotonic

from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django_tasks import task

from builds.actions.cutting import list_of, plan_now, sheet_rows, unplaced_rows
from builds.actions.door import Refused, write
from builds.engines.cutting.cutter import Progress, cut_sheets
from builds.engines.cutting.layout import Layout
from builds.models import CutSheet, CuttingPlan
from builds.queries.cutting_list import CuttingList

LONGEST_SECONDS = 600
UNHEARD_AFTER = timedelta(seconds=30)
SAYS_EVERY = 1.0
LOST = "The search was lost."


@task(queue_name="long", priority=-50)
def layout_task(plan: int) -> None:
    search_layout(plan)


def ask_for_better_layout(*, plan: CuttingPlan, seconds: int, now: datetime, in_worker: bool = True) -> None:
    """Begins a search of at most `seconds`; a second press while one runs does nothing."""
    if not 1 <= seconds <= LONGEST_SECONDS:
        raise Refused("Look for between a second and ten minutes.", field="seconds")
    with write(plan=False):
        found = plan_now(plan)
        if found.is_looking and not is_lost(found, now):
            return
        if not found.sheets.filter(cut_at=None).exists():
            raise Refused("Nothing of it is left to cut.")
        CuttingPlan.objects.filter(pk=found.pk).update(
            is_looking=True,
            stop_asked=False,
            seconds=seconds,
            seconds_spent=0,
            heard_at=now,
            found="",
            run=F("run") + 1,
        )
        if in_worker:
            transaction.on_commit(lambda: layout_task.enqueue(found.pk))


def stop_layout_search(*, plan: CuttingPlan, now: datetime) -> None:
    """Ends a search with the best so far; one that lost its worker ends at once with what there was."""
    with write(plan=False):
        found = plan_now(plan)
        if not found.is_looking:
            return
        fields = {"is_looking": False, "found": LOST} if is_lost(found, now) else {}
        CuttingPlan.objects.filter(pk=found.pk).update(stop_asked=True, **fields)


def is_lost(plan: CuttingPlan, now: datetime) -> bool:
    """Whether a search has not been heard of for so long that its worker must be gone."""
    return plan.is_looking and (plan.heard_at is None or now - plan.heard_at > UNHEARD_AFTER)


def show_if_lost(plan: CuttingPlan, now: datetime) -> None:
    """Lets a plan that was read for a page say that its search was lost; keeps nothing."""
    if is_lost(plan, now):
        plan.is_looking, plan.found = False, LOST


def search_layout(
    plan: int,
    *,
    clock: Callable[[], float] = monotonic,
    time_now: Callable[[], datetime] = timezone.now,
) -> None:
    """Searches on behalf of a plan that asked for it and keeps the layout if it is better.

    Does nothing for a plan that was laid out anew or asks for nothing. `clock` is a stopwatch in seconds.
    """
    asked = CuttingPlan.objects.select_related("material").filter(pk=plan, is_looking=True).first()
    if asked is None:
        return
    found = _list_of(asked)
    if found is None:
        _end(asked, "Nothing of it is left to cut.")
        return
    teller = _Teller(asked, clock, time_now)
    layout = cut_sheets(
        found.problem,
        seconds=asked.seconds,
        seed=asked.run,
        on_progress=teller.better,
        should_stop=teller.should_stop,
        clock=clock,
    )
    teller.say()
    _keep_if_better(asked, found, layout)


class _Teller:
    """Keeps the plan's row up to date while the search runs, and hears from it when to stop."""

    def __init__(
        self, plan: CuttingPlan, clock: Callable[[], float], time_now: Callable[[], datetime]
    ) -> None:
        self._mine = CuttingPlan.objects.filter(pk=plan.pk, run=plan.run, is_looking=True)
        self._clock, self._time_now = clock, time_now
        self._since = self._last = clock()
        self._stop = False
        self._words = ""

    def better(self, progress: Progress) -> None:
        self._words = f"{progress.sheets} sheets so far"

    def should_stop(self) -> bool:
        if self._clock() - self._last >= SAYS_EVERY:
            self._last = self._clock()
            self.say()
            self._stop = not self._mine.filter(stop_asked=False).exists()
        return self._stop

    def say(self) -> None:
        spent = round(self._clock() - self._since, 1)
        self._mine.update(heard_at=self._time_now(), seconds_spent=spent, found=self._words)


def _list_of(plan: CuttingPlan) -> CuttingList | None:
    try:
        return list_of(plan.material, list(plan.builds.all()), but=[plan.pk])
    except Refused:
        return None


def _keep_if_better(asked: CuttingPlan, found: CuttingList, layout: Layout) -> None:
    with write(plan=False):
        now_is = CuttingPlan.objects.select_related("material").filter(pk=asked.pk, run=asked.run).first()
        if now_is is None or not now_is.is_looking:
            return
        again = _list_of(now_is)
        if now_is.version != asked.version or again is None or again.problem != found.problem:
            _end(asked, "Something was cut or changed while it looked. Look again.")
            return
        open_sheets = list(now_is.sheets.filter(cut_at=None))
        before, after = _worth_of(open_sheets, now_is.unplaced), _worth(layout)
        is_stale = now_is.made_of != found.made_of
        if not is_stale and after >= before:
            _end(asked, "Found nothing better.")
            return
        now_is.sheets.filter(cut_at=None).delete()
        last = max(now_is.sheets.values_list("number", flat=True), default=0)
        CutSheet.objects.bulk_create(sheet_rows(now_is, found, layout, first=last + 1))
        CuttingPlan.objects.filter(pk=now_is.pk).update(
            unplaced=unplaced_rows(found, layout),
            notes=list(found.notes),
            made_of=found.made_of,
            version=F("version") + 1,
        )
        _end(asked, _gained(before, after, len(open_sheets), len(layout.sheets)))


Worth = tuple[int, Decimal, int, int]
"""What counts, in this order, less being better: parts unplaced, cost, the largest rest (negative), cuts."""


def _worth(layout: Layout) -> Worth:
    cost = (Decimal(layout.cost) / 10_000).quantize(Decimal("0.0001"))
    return sum(layout.unplaced.values()), cost, -layout.largest_leftover, layout.cuts


def _worth_of(sheets: list[CutSheet], unplaced: list[dict]) -> Worth:
    largest = max((rest[2] * rest[3] for sheet in sheets for rest in sheet.leftovers), default=0)
    cost = sum((sheet.cost for sheet in sheets), Decimal(0))
    return sum(row["count"] for row in unplaced), cost, -largest, sum(sheet.cuts for sheet in sheets)


def _gained(before: Worth, after: Worth, sheets_before: int, sheets_after: int) -> str:
    if sheets_after < sheets_before:
        return f"Better: {sheets_after} sheets instead of {sheets_before}."
    if after[1] < before[1]:
        return "Better: the sheets cost less."
    if after[2] < before[2]:
        return f"Better: the largest rest is {-after[2] / 1e8:.2f} m² instead of {-before[2] / 1e8:.2f} m²."
    return f"Better: {after[3]} cuts instead of {before[3]}."


def _end(asked: CuttingPlan, words: str) -> None:
    mine = CuttingPlan.objects.filter(pk=asked.pk, run=asked.run)
    mine.update(is_looking=False, stop_asked=False, found=words)
