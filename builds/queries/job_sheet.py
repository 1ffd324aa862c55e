"""One fitter's job sheet for today: what is mine now, what it needs, why it can't start, what dries.

Ten queries whatever the number of tasks; every figure is put into words here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db.models import F, Q

from builds.engines.floor.readiness import hindrances, wait_ends
from builds.models import Build, Caution, Delivery, FloorEvent, Link, Person, Photo, Shop, Task
from builds.models.evidence import WITHOUT_A_PLATE
from builds.queries.job_cut_sheets import JobCutSheet, sheets_to_cut
from builds.queries.job_sheet_words import (
    JobCheck,
    JobDay,
    JobDoing,
    JobSheet,
    JobTask,
    JobWait,
    day_words,
    grouped,
    plan_times,
    sheet_tag,
)
from builds.queries.opening import OpeningTimes, opening_times
from builds.queries.readiness import as_before, clock_words, in_words, links_into, missing_in
from builds.templatetags.words import hours as hours_words

DAYS_AHEAD = 3
DOINGS_SHOWN = 12
ON_STATE = ("start", "tick", "half a day left", "sheet cut", "stop", "go on")
MAY_BE_TAKEN_BACK = (*ON_STATE, "dry", "not yet dry", "note", "snag")
DOING_WORDS = {
    "start": "Started",
    "tick": "Ticked",
    "half a day left": "Half a day left",
    "sheet cut": "Cut a sheet",
    "stop": "Stopped",
    "go on": "Went on",
    "dry": "Said dry",
    "not yet dry": "Said not dry yet",
    "note": "Note",
    "snag": "Snag",
    "photo": "Photo",
    "pass": "Passed",
    "fail": "Failed",
    "put right": "Put right",
    "paper": "Filed",
}


def job_sheet(person: int, now: datetime, *, shop: Shop | None = None) -> JobSheet | None:
    """The sheet of `person` from the current plan; None for somebody who doesn't work here."""
    people = {p.pk: p for p in Person.objects.all()}
    reader = people.get(person)
    if reader is None or reader.left_on is not None:
        return None
    shop = shop or Shop.objects.get(pk=1)
    times = opening_times(shop)
    today = times.day_of(now)
    days = _next_open_days(today, times)
    tasks = _tasks_of(person, times.start_of(days[-1] + timedelta(days=1)))
    facts = _Facts.read(tasks, reader, people, shop, times, now)
    now_mine = [t for t in tasks if _is_for_today(t, today, times)]
    later = [t for t in tasks if t not in now_mine]
    current = [facts.task(t) for t in now_mine]
    ahead = [(times.day_of(t.planned.start), facts.task(t)) for t in later]
    doings = _doings(reader, times.start_of(today), times)
    sheet = JobSheet(
        person=person,
        name=reader.name,
        day=day_words(today),
        closed=times.why_closed(today),
        groups=grouped(current),
        waits=facts.waits(now_mine, today),
        days=tuple(
            JobDay(day_words(day), grouped([line for at, line in ahead if at == day]))
            for day in sorted({at for at, _ in ahead})
        ),
        doings=doings,
        vans=tuple(
            Build.objects.filter(status="agreed")
            .order_by(F("arrives_on").asc(nulls_last=True), "pk")
            .values_list("pk", "name")
        ),
    )
    return sheet_tag(sheet)


def _next_open_days(today: date, times: OpeningTimes) -> list[date]:
    """Today and the next open days after it; a shop that never opens looks a week ahead."""
    ahead = [today + timedelta(days=n) for n in range(1, 31)]
    return [today, *[day for day in ahead if times.is_open(day)][:DAYS_AHEAD]] if ahead else [today]


def _tasks_of(person: int, end: datetime) -> list[Task]:
    rows = (
        Task.objects.unfinished()
        .filter(build__status="agreed")
        .filter(Q(planned__start__lt=end) | Q(state__in=("under way", "stopped")))
        .select_related("build", "unit", "installation", "place", "trade", "hold_point", "planned")
        .order_by("planned__start", "build_id", "order", "pk")
    )
    return [task for task in rows if _is_mine(task, person)]


def _is_mine(task: Task, person: int) -> bool:
    row = getattr(task, "planned", None)
    return person in task.crew_on_it or bool(row and person in row.fitters)


def _is_for_today(task: Task, today: date, times: OpeningTimes) -> bool:
    row = getattr(task, "planned", None)
    return task.state == "under way" or row is None or times.day_of(row.start) <= today


@dataclass
class _Facts:
    """What belongs to the tasks of a sheet, read once for all of them."""

    reader: Person
    names: dict[int, str]
    links: dict[int, list[Link]]
    deliveries: dict[int, list[Delivery]]
    cautions: dict[str, str]
    cut_sheets: dict[int, tuple[JobCutSheet, ...]]
    named: dict[int, str]
    closing: set[int]
    shop: Shop
    times: OpeningTimes
    now: datetime

    @classmethod
    def read(cls, tasks: list[Task], reader: Person, people: dict[int, Person], shop, times, now) -> _Facts:
        ids = [t.pk for t in tasks]
        links = defaultdict(list)
        for link in links_into(ids):
            links[link.after_id].append(link)
        deliveries = defaultdict(list)
        for row in Delivery.tasks.through.objects.filter(task__in=ids).select_related("delivery"):
            deliveries[row.task_id].append(row.delivery)
        return cls(
            reader=reader,
            names={pk: p.name for pk, p in people.items()},
            links=links,
            deliveries=deliveries,
            cut_sheets=sheets_to_cut(tasks),
            cautions=dict(Caution.objects.values_list("key", "text")),
            named=_competent_named(t.pk for t in tasks if t.trade.licensed),
            closing=_without_photos(t.pk for t in tasks if t.closes_up and t.state != "under way"),
            shop=shop,
            times=times,
            now=now,
        )

    def task(self, task: Task) -> JobTask:
        befores = [as_before(link, self.shop) for link in self.links[task.pk]]
        is_on = task.started_at is not None and task.state in ("under way", "stopped")
        found = hindrances(befores, self.now)
        found = () if task.state == "under way" else found
        kits = self.deliveries[task.pk]
        today = self.times.day_of(self.now)
        lost = [] if task.state == "under way" else [d for d in kits if d.on_shelf_on is None]
        missing = missing_in(task, lost, today) if task.state != "under way" else ()
        check = getattr(task, "hold_point", None)
        open_check = check if check is not None and not check.lets_followers_start else None
        row = getattr(task, "planned", None)
        crew = task.crew_on_it if task.state == "under way" else (row.fitters if row else [])
        again = task.hours_taken is not None and task.hours_left is not None
        hours = (task.hours_left if again else task.hours).normalize()
        return JobTask(
            pk=task.pk,
            build=task.build_id,
            van=task.build.name,
            unit=task.unit_id,
            group=task.group_name,
            name=task.name,
            place=task.place.name,
            with_whom=tuple(self.names.get(p, "?") for p in crew if p != self.reader.pk),
            times=plan_times(row, today, self.times),
            state=task.state,
            can_start=not found,
            why_not=tuple(in_words(h, self.now, self.times.zone) for h in found),
            is_on=is_on,
            stop_reason=task.stop_reason,
            hours=f"{hours:f}",
            hours_words=hours_words(task.hours_left or task.hours),
            at_hand=task.materials,
            on_shelf=tuple(d.what for d in kits if d.on_shelf_on is not None),
            missing=tuple(m.words for m in missing),
            reminder=task.reminder,
            caution=self.cautions.get(task.caution, ""),
            licensed=task.trade.licensed,
            competent_person=self._competent(task),
            check=JobCheck(open_check.pk, open_check.name, open_check.state) if open_check else None,
            asks_photos=task.pk in self.closing,
            cut_sheets=self.cut_sheets.get(task.pk, ()),
            fits=_fits(task),
        )

    def _competent(self, task: Task) -> str:
        """The name given at this task before, else the reader's own where they have it on record."""
        if not task.trade.licensed:
            return ""
        own = f"{self.reader.name}, {self.reader.competence}" if self.reader.competence else ""
        return self.named.get(task.pk) or own

    def waits(self, tasks: Iterable[Task], today: date) -> tuple[JobWait, ...]:
        """Coats and bonds that hold up what stands on today's sheet, or were due since work last began.

        One that was due overnight or over a closed weekend is first touched by whoever comes in next.
        """
        found, touched_after = [], self.times.start_of(self.times.open_day_before(today))
        for task in tasks:
            for link in self.links[task.pk] if task.state == "to do" else ():
                ends = wait_ends(as_before(link, self.shop)) if link.wait_minutes else None
                if ends is None or link.before.state != "done":
                    continue
                if ends < touched_after:
                    continue
                found.append((ends, self._wait(link, task, ends)))
        return tuple(wait for _, wait in sorted(found, key=lambda pair: (pair[0], pair[1].link)))

    def _wait(self, link: Link, task: Task, ends: datetime) -> JobWait:
        over = ends <= self.now
        clock = clock_words(ends, self.now, self.times.zone)
        said = " by a fitter’s word" if link.dry_at else ""
        return JobWait(
            link=link.pk,
            van=task.build.name,
            group=task.group_name,
            before=link.before.name,
            after=task.name,
            is_over=over,
            words=f"dry since {clock}{said}" if over else f"dry at {clock}{said}",
        )


def _without_photos(tasks: Iterable[int]) -> set[int]:
    """Those of these tasks that nobody took a photo at; one query, also for none."""
    wanted = set(tasks)
    return wanted - set(Photo.objects.filter(task__in=wanted).values_list("task", flat=True))


def _competent_named(tasks: Iterable[int]) -> dict[int, str]:
    """The competent person last named at each licensed task; one query, also for none."""
    rows = FloorEvent.objects.filter(task__in=list(tasks), outcome="kept")
    rows = rows.filter(payload__has_key="competent_person").order_by("pk")
    return dict(rows.values_list("task", "payload__competent_person"))


def _fits(task: Task) -> str:
    owner = task.installation
    return owner.name if owner and owner.kind not in WITHOUT_A_PLATE else ""


def _doings(reader: Person, since: datetime, times: OpeningTimes) -> tuple[JobDoing, ...]:
    """What this person did today, newest first, without what was taken back."""
    rows = FloorEvent.objects.filter(
        person=reader, received_at__gte=since, verb__in=DOING_WORDS, undone_by=None
    ).exclude(outcome="refused")
    rows = rows.select_related("task", "build").order_by("-happened_at", "-pk")[:DOINGS_SHOWN]
    seen: set[int] = set()
    found = []
    for row in rows:
        bears_on_state = row.verb in ON_STATE or row.verb in ("pass", "fail")
        is_latest = not bears_on_state or row.task_id not in seen
        if bears_on_state:
            seen.add(row.task_id)
        found.append(
            JobDoing(
                event=row.pk,
                van=row.build.name if row.build else "",
                words=_doing_words(row),
                at=f"{row.happened_at.astimezone(times.zone):%H:%M}",
                can_undo=row.verb in MAY_BE_TAKEN_BACK and is_latest,
            )
        )
    return tuple(found)


def _doing_words(row: FloorEvent) -> str:
    verb = DOING_WORDS[row.verb]
    text = str(row.payload.get("text") or "")[:60]
    if row.verb in ("note", "snag", "paper", "put right") and text:
        return f"{verb}: {text}"
    hours = row.payload.get("hours")
    more = f", {hours_words(Decimal(hours))}" if row.verb == "tick" and hours else ""
    return f"{verb}: {row.task.name}{more}" if row.task else verb


__all__ = ["JobSheet", "JobTask", "job_sheet"]
