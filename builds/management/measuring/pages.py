"""How quick the app is: a tick, a new plan, pages and papers; with 5 and with 20 vans of about 140 tasks."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path

from django.conf import settings
from django.db import connection
from django.template import engines
from django.test import Client
from django.test.utils import CaptureQueriesContext, override_settings, setup_test_environment
from django.utils import timezone

from builds.actions import floor, people
from builds.actions.builds import NewBuild, start_build
from builds.actions.composing import InstallationChoice, UnitChoice
from builds.actions.library import load_standard_library
from builds.actions.photos import keep_photo
from builds.actions.planning import planned_by_hand, replan
from builds.actions.sheets import draft_progress_sheet
from builds.actions.shop import set_opening
from builds.actions.what_if import try_change
from builds.demo.pictures import draw_picture
from builds.management.measuring.figures import Figure, median_ms
from builds.models import Build, Person, PlanRow, ProgressSheet, Task, User
from builds.queries.opening import monday_of
from builds.reports.progress_sheet import progress_sheet_paper
from builds.reports.render import pdf_of

UNITS = (
    UnitChoice("seat_box", "Seat box", 1000, 550, 480),
    UnitChoice("kitchen", "Kitchen", 1200, 500, 880),
    UnitChoice("overhead", "Overhead", 1800, 330, 380),
    UnitChoice("bed", "Bed", 1900, 1350, 500),
    UnitChoice("worktop", "Worktop", 1250, 520, 30),
)
INSTALLATIONS = (
    "floor", "insulation", "lining", "side_windows", "ventilation", "heating", "water", "waste",
    "twelve_volt", "solar", "mains", "fridge",
)  # fmt: skip
TRADES = ("joinery", "finishing", "electrical", "plumbing", "heating", "trim", "vehicle", "owner")


def measure_pages(*, whole: bool = False) -> Iterator[Figure]:
    """Every figure of the app's speed; makes and drops databases of its own."""
    setup_test_environment(debug=False)
    bare = _bare_floor()
    yield Figure("hello page", bare["hello"], "ms")
    yield Figure("a table of 60 rows", bare["table"], "ms")
    yield Figure("an empty PDF", bare["pdf"], "ms")
    for vans in (5, 20):
        with own_database():
            yield from _with_vans(vans, bare)


def _bare_floor() -> dict[str, float]:
    with own_database():
        client = Client()
        rows = engines["django"].from_string(
            "<table>{% for r in rows %}<tr><td>{{ r.0 }}</td><td>{{ r.1 }}</td></tr>{% endfor %}</table>"
        )
        data = {"rows": [(n, f"row {n}") for n in range(60)]}
        return {
            "hello": median_ms(lambda: client.get("/hello/")),
            "table": median_ms(lambda: rows.render(data)),
            "pdf": median_ms(lambda: pdf_of("<!doctype html><html lang=en><title>e</title><p>e")),
        }


@contextmanager
def own_database() -> Iterator[None]:
    """A new database on disk with the shop's own settings, dropped afterwards."""
    with tempfile.TemporaryDirectory() as folder, override_settings(MEDIA_ROOT=Path(folder) / "media"):
        before = connection.settings_dict["NAME"]
        connection.settings_dict["TEST"]["NAME"] = str(Path(folder) / "measure.sqlite3")
        connection.creation.create_test_db(verbosity=0, autoclobber=True)
        try:
            with planned_by_hand():
                yield
        finally:
            connection.creation.destroy_test_db(before, verbosity=0)


def _with_vans(vans: int, bare: dict[str, float]) -> Iterator[Figure]:
    client = _fill(vans)
    tasks = Task.objects.count()
    label = f"{vans} vans, {tasks} tasks"
    tick, plan = _tick_and_plan()
    floor_ms = bare["hello"]
    yield Figure(f"{label}: a tick answered", tick, "ms", 150, floor_ms)
    yield Figure(f"{label}: a new plan stored after it", plan, "ms", 1000, floor_ms)
    yield Figure(f"{label}: a change tried on a copy", _tried_ms(), "ms", 400 * (vans // 5), floor_ms)
    build = Build.objects.to_plan().first()
    pages = {
        "the wall sheet of six weeks": "/wall/",
        "this week": "/",
        "the crew sheet": "/crew/",
        "what if": "/what-if/",
        "builds": "/builds/",
        "one build": f"/builds/{build.pk}/",
        "its work": f"/builds/{build.pk}/work/",
        "material": "/material/",
    }
    for name, url in pages.items():
        yield from _page(client, f"{label}: {name}", url, floor_ms, goal=150 if vans == 5 else 400)
    if vans == 5:
        yield Figure("a progress sheet with six photos", _sheet_ms(build), "ms", 500, bare["pdf"])


def _page(client: Client, name: str, url: str, floor_ms: float, goal: float) -> Iterator[Figure]:
    with CaptureQueriesContext(connection) as queries:
        response = client.get(url)
    if response.status_code != 200:
        raise RuntimeError(f"{url} answers {response.status_code}")
    body, asked = response.content, len(queries)
    yield Figure(name, median_ms(lambda: client.get(url), times=5, warm=1), "ms", goal, floor_ms)
    if url == "/wall/":
        yield Figure(f"{name}, size", len(body) / 1024, "KB", 600)
    yield Figure(f"{name}, queries", asked, "", 12)


def _fill(vans: int) -> Client:
    now = timezone.now()
    owner = User.objects.create_user("owner", password="a long word for measuring")
    load_standard_library(now=now, by=owner)
    day = [(timezone.datetime(2000, 1, 1, 8).time(), timezone.datetime(2000, 1, 1, 17).time())]
    set_opening(spans=dict.fromkeys(range(5), day), now=now, by=owner)
    for n in range(max(4, vans)):
        people.add_person(name=f"Hand {n}", trades=(*TRADES[n % 4 :: 2], "joinery"), now=now, by=owner)
    for n in range(vans):
        start_build(new=_new_build(n, now.date()), now=now, by=owner)
    replan(now=now)
    client = Client()
    client.force_login(owner)
    return client


def _new_build(n: int, today: date) -> NewBuild:
    return NewBuild(
        name=f"Van {n}",
        customer_name=f"Customer {n}",
        arrives_on=today + timedelta(days=7 * (n // 2)),
        promised_on=today + timedelta(days=7 * (n // 2) + 120),
        van={"load_length_mm": 3000, "load_width_mm": 1800, "load_height_mm": 1900},
        units=UNITS,
        installations=tuple(InstallationChoice(kind) for kind in INSTALLATIONS),
    )


def _tick_and_plan() -> tuple[float, float]:
    """Median of ticking the next planned task, and of planning anew after each tick."""
    ticks, plans = [], []
    for _ in range(5):
        ticks.append(_once_ms(_tick_the_next))
        plans.append(_once_ms(lambda: replan(now=timezone.now())))
    return sorted(ticks)[2], sorted(plans)[2]


def _once_ms(work: Callable[[], object]) -> float:
    return median_ms(work, times=1, warm=0)


def _tick_the_next() -> None:
    row = PlanRow.objects.select_related("task").exclude(task__state="done").order_by("start", "pk").first()
    by = floor.By(person=Person.objects.get(pk=row.fitters[0]))
    floor.tick_task(task=row.task, hours="1", by=by, now=timezone.now())


def _tried_ms() -> float:
    """Median of trying one closed day after another on a copy of the shop."""
    tries = iter(range(3))

    def try_next() -> None:
        day = str(timezone.localdate() + timedelta(days=7 * next(tries)))
        change = {"kind": "closed", "first": day, "last": day, "words": f"Closed on {day}"}
        try_change(change=change, now=timezone.now())

    return median_ms(try_next, times=3, warm=0)


def _sheet_ms(build: Build) -> float:
    now = timezone.now()
    for n in range(6):
        keep_photo(file=draw_picture("kitchen", seed=n), build=build, now=now, caption=f"Photo {n}")
    owner = User.objects.get(username="owner")
    sheet = draft_progress_sheet(build=build, monday=monday_of(timezone.localdate()), now=now, by=owner)
    sheet = ProgressSheet.objects.get(pk=sheet.pk)
    assert settings.MEDIA_ROOT
    return median_ms(lambda: progress_sheet_paper(sheet), times=5, warm=1)
