"""Plays the demo's history day by day through the actions: what was planned is started, ticked, checked.

Every day is planned in the morning as it was then; the people do what the plan says, a little quicker
or slower, and say in the evening what is left.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal

from builds.actions import floor
from builds.actions.door import Refused
from builds.actions.filing import file_paper
from builds.actions.floor import By
from builds.actions.hold_points import pass_check
from builds.actions.planning import replan
from builds.actions.sheets import draft_progress_sheet, send_progress_sheet
from builds.actions.telling import tell_the_crew
from builds.demo.people import Workshop
from builds.demo.pictures import draw_picture
from builds.models import Build, HoldPoint, Person, PlanRow, Task
from builds.queries.opening import monday_of, opening_times
from builds.reports.progress_sheet import progress_sheet_paper

PICTURES = {
    "strip": ("bare van", "Stripped and swept"),
    "mark_out": ("bare van", "Marked out for the windows"),
    "bond_windows": ("window", "The first window is in"),
    "pull_12v": ("wiring", "Cables in, each with its label"),
    "pressure_test": ("gauge", "Holding its pressure"),
    "gas_tightness": ("gauge", "On the gauge"),
    "pipes": ("pipes", "Water pipes along the wall"),
    "walls_fix": ("lined van", "Walls lined"),
    "vinyl": ("lined van", "The floor is down"),
    "glue": ("carcass", "Glued up"),
    "coat_2": ("painted", "Second coat"),
    "fit": ("kitchen", "In its place"),
    "hose_test": ("window", "Fifteen minutes of hose, dry inside"),
    "first_fix_check": ("wiring", "First fix before the walls close"),
    "weigh_full": ("bare van", "On the weighbridge"),
}
BEHIND = {
    "subfloor": ("Floor",),
    "insulate": ("Left wall, front", "Right wall, front"),
    "ceiling_fix": ("Roof, front", "Roof, rear"),
    "walls_fix": ("Left wall, front", "Left wall, rear", "Right wall, front", "Right wall, rear"),
    "fit_wet": ("Right wall, rear",),
}
"""What is photographed before it is closed up, and where in the van that is."""

PLATES = {"heater_plate": "AH", "mains_unit": "MU", "solar_panels": "SP", "fridge": "FR"}
"""Whose plate is filed when it is fitted, and how its serial number begins; all invented."""

NOTES = {
    "cut_windows": "Primed every cut edge twice; there was old rust under the seal.",
    "dry_fit": "Everything stands in the van for a day: come and look before we paint.",
    "fuse_board": "Left two spare ways for later.",
    "battery": "Strapped down, shaken, does not move.",
}
TAKES_LONGER_HERE = {"machine": 1.35}
"""What this workshop is slower at than the library has it: something to learn from."""

READINGS = {
    "openings_hose": {"minutes": "15", "dry": "yes"},
    "first_fix_wiring": {"continuity": "yes", "labels": "yes", "clipped": "yes"},
    "water_pressure": {"start_bar": "1.6", "minutes": "30", "end_bar": "1.6"},
    "gas_tightness": {"start_mbar": "152", "minutes": "5", "end_mbar": "149"},
    "heater_test_fire": {"co_ppm": "0", "minutes": "25", "leaks": "yes"},
    "power_up": {"supply_v": "12.7", "load_v": "12.4", "fuses": "yes"},
    "mains_test": {"schedule": "yes", "rcd_ms": "22"},
    "pump_cut_out": {"minutes": "35", "dry": "yes", "silent": "yes"},
    "gas_final": {"burners": "yes", "vents_mm2": "5200", "alarm": "yes"},
    "seat_fixings": {"torque": "yes", "papers": "yes", "tool": "wrench 3"},
    "drain_down": {"empty": "yes", "taught": "yes"},
    "weighing": {"front_kg": "1540", "rear_kg": "1610", "state": "half fuel, no water, driver"},
    "snag_walk": {"found": "3", "listed": "yes"},
    "handover": {"shown": "yes", "papers": "yes"},
}
COMPETENT = {"gas": "Osric Vane, number 00-demo-17", "mains": "Ines Marlow, number 00-demo-42"}


@dataclass(frozen=True)
class Happens:
    """One thing that a task does at an instant: "start", "end" or, at closing time, "left"."""

    at: datetime
    kind: str
    task: int


class History:
    """The days from the first to now, played in order."""

    def __init__(self, workshop: Workshop, now: datetime, seed: int = 1) -> None:
        self._workshop, self._now = workshop, now
        self._random = random.Random(seed)
        self._times = opening_times()
        self._people = {p.pk: p for p in Person.objects.all()}

    def play(self, first: date) -> None:
        """Plays every open day from `first` up to now."""
        day = first
        while self._times.start_of(day) < self._now:
            if self._times.is_open(day):
                self._play_day(day)
            if day.weekday() == 4:
                self._send_sheets(day)
            day += timedelta(days=1)

    def _at(self, day: date, hour: int, minute: int = 0) -> datetime:
        return datetime.combine(day, time(hour, minute), tzinfo=self._times.zone)

    def _play_day(self, day: date) -> None:
        morning = self._at(day, 7, 45)
        if morning > self._now:
            return
        replan(now=morning)
        if day.weekday() == 0 or day == monday_of(day):
            tell_the_crew(now=morning, user=self._workshop.owner)
        for happens in sorted(self._of_day(day), key=lambda h: (h.at, h.kind != "end")):
            if happens.at <= self._now:
                self._do(happens)

    def _of_day(self, day: date) -> Iterator[Happens]:
        start, end = self._times.start_of(day), self._times.start_of(day + timedelta(days=1))
        closing = self._closing(day)
        rows = PlanRow.objects.filter(start__lt=end, finish__gt=start).exclude(
            task__state__in=["done", "stopped"]
        )
        for row in rows.select_related("task"):
            if row.task.state == "to do":
                yield Happens(row.start, "start", row.task_id)
            if row.finish <= closing:
                yield Happens(row.finish, "end", row.task_id)
            else:
                yield Happens(closing, "left", row.task_id)

    def _closing(self, day: date) -> datetime:
        last = max(b for _, b in self._times.week[day.weekday()])
        return self._at(day, last // 60, last % 60)

    def _do(self, happens: Happens) -> None:
        task = Task.objects.select_related("build", "planned", "trade").get(pk=happens.task)
        by = By(person=self._lead(task), tablet=self._workshop.tablet)
        try:
            if happens.kind == "start":
                self._show_what_is_behind(task, by, happens.at)
                floor.start_task(
                    task=task, by=by, now=happens.at, found_anyway=True, competent_person=self._named(task)
                )
            elif task.state == "under way" and happens.kind == "left":
                left = self._left(task, happens.at)
                floor.half_a_day_left(task=task, hours_left=left, by=by, now=happens.at)
            elif task.state == "under way":
                self._end(task, by, happens.at)
        except Refused:
            # It was not ready after all: the next morning's plan takes it up again.
            return

    def _named(self, task: Task) -> str:
        return COMPETENT.get(task.trade_id, "")

    def _lead(self, task: Task) -> Person | None:
        fitters = task.crew_on_it or task.planned.fitters
        return self._people.get(fitters[0]) if fitters else None

    def _left(self, task: Task, at: datetime) -> Decimal:
        row = task.planned
        began = max(row.start, task.started_at or row.start)
        whole = max((row.finish - began).total_seconds(), 1)
        share = max(0.1, min(0.9, (row.finish - at).total_seconds() / whole))
        hours = task.hours if task.hours_left is None else task.hours_left
        return _quarters(float(hours) * share)

    def _end(self, task: Task, by: By, at: datetime) -> None:
        self._photograph(task, by, at)
        usual = TAKES_LONGER_HERE.get(task.standard, 1.0)
        share = usual * self._random.choice((0.85, 0.95, 1.0, 1.0, 1.05, 1.2, 1.4))
        hours = _quarters(float(task.hours) * share)
        check = HoldPoint.objects.filter(task=task).first()
        if check is None:
            floor.tick_task(task=task, hours=hours, by=by, now=at)
        else:
            pass_check(
                hold_point=check,
                readings=READINGS[check.kind],
                by=By(user=self._workshop.owner, person=by.person),
                now=at,
                hours=hours,
                competent_person=COMPETENT.get(check.licensed_trade, ""),
                certificate=f"DEMO-{check.pk:04d}" if check.certificate_due else "",
                note="as found on the day" if check.kind == "weighing" else "",
            )
        self._file_plate(task, by, at)
        words = NOTES.get(task.standard)
        if words and not task.build.note_rows.filter(text=words).exists():
            floor.add_note(build=task.build, task=task, text=words, by=by, now=at, for_customer=True)

    def _show_what_is_behind(self, task: Task, by: By, at: datetime) -> None:
        """Photos before something is closed up, each at its place in the van."""
        for n, place in enumerate(BEHIND.get(task.standard, ()) if task.closes_up else ()):
            if not task.photos.filter(behind=place).exists():
                picture = draw_picture("pipes" if n % 2 else "wiring", seed=task.pk + n)
                floor.add_photo(file=picture, build=task.build, task=task, behind=place, by=by, now=at)

    def _file_plate(self, task: Task, by: By, at: datetime) -> None:
        if task.standard in PLATES and task.installation:
            file_paper(
                build=task.build,
                installation=task.installation,
                serial_number=f"{PLATES[task.standard]}-{4100 + task.pk}",
                title="Plate",
                file=draw_picture("plate", seed=task.pk),
                by=by,
                now=at,
            )

    def _photograph(self, task: Task, by: By, at: datetime) -> None:
        subject, caption = PICTURES.get(task.standard, ("", ""))
        if subject:
            floor.add_photo(
                file=draw_picture(subject, seed=task.pk),
                build=task.build,
                task=task,
                unit=task.unit,
                by=by,
                now=at,
                caption=f"{caption}: {task.unit.name.lower()}" if task.unit else caption,
            )

    def _send_sheets(self, friday: date) -> None:
        at = self._at(friday, 16, 30)
        if at > self._now:
            return
        for build in Build.objects.in_the_shop(friday):
            sheet = draft_progress_sheet(
                build=build, monday=monday_of(friday), now=at, by=self._workshop.owner
            )
            if sheet.sent_at or not (sheet.done or sheet.photos.exists()):
                continue
            send_progress_sheet(
                sheet=sheet,
                version=sheet.version,
                paper=progress_sheet_paper(sheet, sent_at=at),
                now=at,
                by=self._workshop.owner,
            )


def _quarters(hours: float) -> Decimal:
    return max(Decimal("0.25"), Decimal(round(hours * 4)) / 4)
