"""No way round a hold point: every action, every route of the floor and the owner, live and from a queue.

The scene: gas pipe is in, the tightness test is open, walls come after it. Whatever is done to it short
of a pass that is signed with readings and the competent person's name, the walls can't be started.
"""

from __future__ import annotations

import importlib
import inspect
import io
import pkgutil
import uuid
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import get_resolver, reverse

from builds import actions
from builds.actions import (
    builds,
    composing,
    drying,
    evidence,
    filing,
    floor,
    hold_points,
    hours,
    network,
    pins,
    settling,
    sheets_cut,
    standard_checks,
    tasks,
    tested,
    undo,
)
from builds.actions.cutting import lay_out
from builds.actions.door import Refused
from builds.actions.floor import By
from builds.actions.floor_events import keep_refusal, record
from builds.actions.network import bridge_gap
from builds.models import (
    Build,
    CheckRecord,
    CutSheet,
    FloorEvent,
    HoldPoint,
    Installation,
    InstallationKind,
    Link,
    Person,
    Snag,
    StandardHoldPoint,
    Tablet,
    Task,
    User,
)
from tests import cast
from tests.screens.test_access import pair

FIELDS = [{"key": "start", "label": "Reading", "kind": "number", "unit": "mbar", "least": 150}]
PIN = "2468"
HOUR = timedelta(hours=1)

ABOUT_WORK = (HoldPoint, CheckRecord, Link, record, bridge_gap)
"""A module of actions that has one of these may write a check, a link or the state of a task."""


@dataclass
class Scene:
    build: Build
    gas: Installation
    pipe: Task
    test: Task
    walls: Task
    trim: Task
    check: HoldPoint
    by: By
    user: User
    now: object

    def late(self) -> By:
        return replace(self.by, uuid=uuid.uuid4(), device_at=self.now - HOUR, sequence=None)


@pytest.fixture
def scene(small_build, joiner, owner, now) -> Scene:
    InstallationKind.objects.create(key="gas", name="Gas")
    gas = Installation.objects.create(build=small_build, kind="gas", name="Gas")
    pins.set_pin(person=joiner, pin=PIN, now=now - timedelta(days=1), by=owner)
    joiner.refresh_from_db()
    more = {"trade_id": "gas", "installation": gas}
    pipe = cast.make_task(small_build, "pipe", state="done", started_at=now, finished_at=now, **more)
    test = cast.make_task(small_build, "tightness", after=(pipe,), **more)
    walls = cast.make_task(small_build, "walls", after=(test,))
    trim = cast.make_task(small_build, "trim-walls", after=(walls,))
    check = HoldPoint.objects.create(
        task=test,
        kind="gas_tightness",
        name="Gas tightness",
        licensed_trade="gas",
        may_overrule=False,
        photo_wanted=True,
        certificate_due=True,
        fields=FIELDS,
    )
    by = By(person=joiner, tablet=Tablet.objects.create(name="Spray tablet"))
    return Scene(small_build, gas, pipe, test, walls, trim, check, by, owner, now)


def assert_holds(scene: Scene) -> None:
    check = HoldPoint.objects.select_related("task").get(pk=scene.check.pk)
    assert not check.lets_followers_start
    build = Build.objects.get(pk=scene.build.pk)
    assert build.status != "handed over"
    if build.status == "dropped":
        return
    assert check.task.removed_at is None
    assert check.task.state != "done"
    for task in Task.objects.filter(pk__in=[scene.walls.pk, scene.trim.pk]):
        assert (task.state, task.started_at) in (("to do", None), ("stopped", None)), task
        with pytest.raises(Refused):
            floor.start_task(task=task, by=By(person=scene.by.person), now=scene.now, found_anyway=True)
    for task in Task.objects.filter(pk__in=[scene.walls.pk], removed_at=None):
        assert Link.objects.filter(before=check.task, after=task).exists()


def by_each(scene: Scene):
    return (scene.by, scene.late())


def settle_everything(scene: Scene) -> None:
    stop = floor.stop_task(task=scene.walls, reason="x", by=scene.late(), now=scene.now).event
    for keep in ("this", "that", "seen"):
        with suppress(Refused):
            settling.settle(event=stop, keep=keep, user=scene.user, now=scene.now)


def correct(scene: Scene) -> None:
    stop = floor.stop_task(task=scene.walls, reason="x", by=scene.by, now=scene.now).event
    crew = [scene.by.person.pk]
    hours.correct_hours(tick=stop, hours="1", crew=crew, user=scene.user, now=scene.now)


def put_on(scene: Scene, task: Task) -> None:
    own = standard_checks.add_check(fields={"name": f"Own of {task}"}, now=scene.now, by=scene.user)
    standard_checks.put_check_on(task=task, check=own, now=scene.now, by=scene.user)


def loosen(scene: Scene) -> None:
    row = StandardHoldPoint.objects.create(
        key="gas_tightness", name="Gas tightness", licensed_trade="gas", may_overrule=False
    )
    for fields in ({"may_overrule": True}, {"licensed_trade": ""}):
        with suppress(Refused):
            standard_checks.change_check(check=row, fields=fields, now=scene.now, by=scene.user)
    assert not StandardHoldPoint.objects.get().may_overrule


def sign(scene: Scene, **more) -> None:
    given = {"readings": {"start": "151"}, "pin": PIN, "competent_person": "Osric Vane"} | more
    for by in by_each(scene):
        with suppress(Refused):
            hold_points.pass_check(hold_point=scene.check, by=by, now=scene.now, **given)


def sign_badly(scene: Scene) -> None:
    sign(scene)
    photo = SimpleUploadedFile("a.jpg", picture().getvalue())
    evidence.add_photo(file=photo, build=scene.build, task=scene.test, by=scene.by, now=scene.now)
    sign(scene, pin="9753")
    sign(scene, readings={})
    sign(scene, readings={"start": "140"})
    sign(scene, competent_person="")
    Task.objects.filter(pk=scene.pipe.pk).update(state="to do", finished_at=None)
    sign(scene)


def picture() -> io.BytesIO:
    from tests.actions.test_photos import picture as made

    return made(64, 48)


def each(act, *targets):
    """Does `act` to every target, by hand and late from a queue."""

    def go(scene: Scene) -> None:
        for name in targets or ("walls", "trim", "test"):
            for by in by_each(scene):
                with suppress(Refused):
                    act(scene, getattr(scene, name), by)

    return go


def change(scene: Scene) -> None:
    for fields in ({"trade_id": "joinery"}, {"hours": Decimal("0.25")}, {"same_day": False}):
        for task in (scene.test, scene.walls):
            with suppress(Refused):
                tasks.change_task(task=task, fields=fields, version=None, now=scene.now, by=scene.user)
    sign(scene, competent_person="")


def unlink(scene: Scene) -> None:
    for link in Link.objects.filter(before=scene.test):
        with suppress(Refused):
            network.remove_link(link=link, now=scene.now, by=scene.user)


def merge(scene: Scene) -> None:
    for pair_of in ([scene.walls, scene.trim], [scene.test, scene.pipe], [scene.test, scene.walls]):
        with suppress(Refused):
            tasks.merge_tasks(tasks=pair_of, now=scene.now, by=scene.user)


def add(scene: Scene) -> None:
    fields = {"name": "More", "trade_id": "joinery", "place_id": "bench", "hours": Decimal(1)}
    tasks.add_task(
        build=scene.build,
        fields=fields,
        after=[scene.walls],
        before=[scene.trim],
        now=scene.now,
        by=scene.user,
    )


def cut_walls(scene: Scene) -> None:
    """The walls are cut from a sheet before the test is passed, from their tablet and late from its queue."""
    unit = cast.make_unit(scene.build, "Walls")
    cast.make_part(unit, cast.make_board(), "Wall", 2000, 585)
    Task.objects.filter(pk=scene.walls.pk).update(unit=unit, standard="cut")
    lay_out(builds=[scene.build], now=scene.now, by=scene.user)
    sheet = CutSheet.objects.get()
    for by in (scene.by, scene.late()):
        with suppress(Refused):
            sheets_cut.cut_sheet(task=scene.walls, sheet=sheet.pk, hours="1", by=by, now=scene.now)
    assert CutSheet.objects.get().cut_at is None


def hand_over(scene: Scene) -> None:
    on = scene.now.date()
    builds.hand_over(build=scene.build, on=on, now=scene.now, by=scene.user)


def of_build(act):
    return lambda s: act(build=s.build, now=s.now, by=s.user)


WAYS = {
    "floor.start_task": each(lambda s, t, by: floor.start_task(task=t, by=by, now=s.now, found_anyway=True)),
    "floor.tick_task": each(lambda s, t, by: floor.tick_task(task=t, hours="1", by=by, now=s.now)),
    "floor.half_a_day_left": each(
        lambda s, t, by: floor.half_a_day_left(task=t, hours_left="1", by=by, now=s.now)
    ),
    "floor.stop_task": each(lambda s, t, by: floor.stop_task(task=t, reason="x", by=by, now=s.now), "walls"),
    "floor.go_on": each(
        lambda s, t, by: (
            floor.stop_task(task=t, reason="x", by=by, now=s.now),
            floor.go_on(task=t, by=by, now=s.now),
        ),
        "walls",
    ),
    "floor.reopen": each(
        lambda s, t, by: floor.reopen(task=t, why="x", hours_left="1", user=s.user, now=s.now),
        "walls",
        "pipe",
    ),
    "floor.bulk_tick": lambda s: floor.bulk_tick(
        build=s.build,
        tasks=[s.pipe, s.test, s.walls, s.trim],
        user=s.user,
        now=s.now,
        competent_person="Osric Vane",
    ),
    "drying.say_dry": lambda s: drying.say_dry(link=s.walls.links_in.get(), by=s.by, now=s.now),
    "drying.not_dry_yet": lambda s: drying.not_dry_yet(
        link=s.walls.links_in.get(), hours_more="1", by=s.by, now=s.now
    ),
    "evidence.add_note": each(
        lambda s, t, by: evidence.add_note(build=s.build, text="x", task=t, by=by, now=s.now)
    ),
    "evidence.add_photo": each(
        lambda s, t, by: evidence.add_photo(file=picture(), build=s.build, task=t, by=by, now=s.now), "test"
    ),
    "evidence.add_snag": each(
        lambda s, t, by: evidence.add_snag(build=s.build, text="x", task=t, by=by, now=s.now)
    ),
    "evidence.put_right": lambda s: (
        hold_points.fail_check(
            hold_point=s.check,
            readings={},
            note="x",
            by=s.by,
            now=s.now,
            pin=PIN,
            competent_person="Osric Vane",
        ),
        evidence.put_right(snag=Snag.objects.get(), by=s.by, now=s.now),
    ),
    "undo.undo": lambda s: [
        undo.undo(event=event, by=s.by, now=s.now)
        for event in [floor.stop_task(task=s.walls, reason="x", by=s.by, now=s.now).event]
    ],
    "hold_points.pass_check": sign_badly,
    "hold_points.fail_check": lambda s: hold_points.fail_check(
        hold_point=s.check, readings={}, note="x", by=s.by, now=s.now, pin=PIN, competent_person="Osric Vane"
    ),
    "hold_points.overrule_check": lambda s: hold_points.overrule_check(
        hold_point=s.check, reason="In a hurry", user=s.user, now=s.now
    ),
    "hold_points.file_certificate": lambda s: hold_points.file_certificate(
        hold_point=s.check, reference="G-1", now=s.now, by=s.user
    ),
    "hold_points.reopen_check": lambda s: hold_points.reopen_check(
        hold_point=s.check, why="x", user=s.user, now=s.now
    ),
    "tested.reopen_checks": lambda s: tested.reopen_checks(task=s.pipe, why="x", by=s.by, now=s.now),
    "tested.reopen_for_new_work": lambda s: tested.reopen_for_new_work(task=s.walls, by=s.by, now=s.now),
    "sheets_cut.cut_sheet": cut_walls,
    "standard_checks.add_check": lambda s: standard_checks.add_check(
        fields={"name": "Own", "readings": []}, now=s.now, by=s.user
    ),
    "standard_checks.change_check": loosen,
    "standard_checks.put_check_on": each(lambda s, t, by: put_on(s, t)),
    "settling.settle": settle_everything,
    "hours.correct_hours": correct,
    "tasks.add_task": add,
    "tasks.change_task": change,
    "tasks.split_task": lambda s: [
        tasks.split_task(task=t, first_hours=Decimal("0.5"), now=s.now, by=s.user) for t in (s.walls, s.test)
    ],
    "tasks.copy_task": lambda s: [tasks.copy_task(task=t, now=s.now, by=s.user) for t in (s.walls, s.test)],
    "tasks.merge_tasks": merge,
    "tasks.remove_task": each(
        lambda s, t, by: tasks.remove_task(task=t, now=s.now, by=s.user), "test", "walls"
    ),
    "network.add_link": lambda s: network.add_link(before=s.pipe, after=s.walls, now=s.now, by=s.user),
    "network.change_link": lambda s: network.change_link(
        link=s.walls.links_in.get(), wait_minutes=0, latest_minutes=None, now=s.now, by=s.user
    ),
    "network.remove_link": unlink,
    "filing.file_paper": lambda s: filing.file_paper(
        build=s.build, hold_point=s.check, serial_number="1", by=s.by, now=s.now
    ),
    "filing.withdraw_paper": None,
    "photos.keep_photo": None,
    "photos.place_photo": None,
    "floor_events.keep_refusal": lambda s: keep_refusal(
        Refused("No"), "tick", by=s.late(), now=s.now, task=s.walls, build=s.build, payload={"hours": "1"}
    ),
    "composing.add_to_build": lambda s: composing.add_to_build(build=s.build, now=s.now, by=s.user),
    "composing.take_out": lambda s: composing.take_out(owner=s.gas, now=s.now, by=s.user),
    "builds.hand_over": hand_over,
    "builds.agree": of_build(builds.agree),
    "builds.drop": of_build(builds.drop),
    "builds.start_build": None,
    "builds.change_build": None,
    "builds.change_customer": None,
    "builds.tell_promise": None,
    "builds.take_back": lambda s: builds.take_back(
        build=s.build, arrives_on=date(2027, 6, 1), promised_on=None, jobs=[], now=s.now, by=s.user
    ),
}
"""Each action that writes a task, a check or a link, and how one would try to get round with it.

None: it is given no task, no check and no link.
"""


def writing_actions() -> set[str]:
    found = set()
    for module in pkgutil.iter_modules(actions.__path__):
        loaded = importlib.import_module(f"builds.actions.{module.name}")
        if not any(thing in vars(loaded).values() for thing in ABOUT_WORK):
            continue
        for name, function in inspect.getmembers(loaded, inspect.isfunction):
            source = inspect.getsource(function)
            writes = "with write(" in source or "_set_status(" in source
            if writes and function.__module__ == loaded.__name__ and not name.startswith("_"):
                found.add(f"{module.name}.{name}")
    return found


def test_every_action_that_writes_work_is_tried():
    assert writing_actions() == set(WAYS)


@pytest.mark.parametrize("name", [name for name, way in WAYS.items() if way])
def test_no_action_gets_round_an_open_check(scene, name, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path

    with suppress(Refused):
        WAYS[name](scene)

    assert_holds(scene)


def routes(namespace: str):
    """Every route below a namespace: its name and the names of its arguments."""
    (found,) = [p for p in get_resolver().url_patterns if getattr(p, "namespace", None) == namespace]
    for pattern in found.url_patterns:
        yield pytest.param(f"{namespace}:{pattern.name}", tuple(pattern.pattern.converters), id=pattern.name)


def arguments(scene: Scene, names) -> list[dict] | None:
    """Arguments that lead to the scene; each task in turn. None where a route is about something else."""
    snag = Snag.objects.create(build=scene.build, text="x", at=scene.now, hold_point=scene.check)
    event = floor.stop_task(task=scene.walls, reason="x", by=scene.late(), now=scene.now).event
    known = {
        "person": scene.by.person.pk,
        "build": scene.build.pk,
        "check": scene.check.pk,
        "hold_point": scene.check.pk,
        "link": scene.walls.links_in.get().pk,
        "event": event.pk,
        "snag": snag.pk,
        "installation": scene.gas.pk,
        "task": None,
    }
    if not set(names) <= set(known):
        return None
    given = {name: known[name] for name in names}
    if "task" not in given:
        return [given]
    return [given | {"task": task.pk} for task in (scene.test, scene.walls, scene.trim)]


def form(scene: Scene) -> dict:
    return {
        "hours": "1",
        "hours_left": "1",
        "reason": "x",
        "why": "In a hurry",
        "keep": "this",
        "text": "x",
        "name": "x",
        "note": "x",
        "found_anyway": "yes",
        "without_photos": "yes",
        "competent_person": "Osric Vane",
        "certificate": "G-1",
        "reference": "G-1",
        "verdict": "pass",
        "pin": PIN,
        "task": [scene.pipe.pk, scene.test.pk, scene.walls.pk, scene.trim.pk],
        "on": "2027-03-01",
        "once": str(uuid.uuid4()),
        "split-first_hours": "0.5",
        "trade_id": "joinery",
        "version": "1",
    }


@pytest.fixture
def at_eight(now, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    with time_machine.travel(now, tick=False):
        yield


@pytest.mark.parametrize("waited", [False, True], ids=["pressed", "queued"])
@pytest.mark.parametrize(("name", "names"), list(routes("floor")))
def test_no_press_on_a_tablet_gets_round_an_open_check(client, scene, at_eight, name, names, waited):
    pair(client)
    headers = {}
    if waited:
        at = (scene.now - HOUR).isoformat()
        headers = {"HTTP_X_QUEUE_NUMBER": "7", "HTTP_X_DONE_AT": at, "HTTP_X_SENT_AT": scene.now.isoformat()}

    for given in arguments(scene, names) or []:
        client.post(reverse(name, kwargs=given), form(scene), **headers)

    assert_holds(scene)


@pytest.mark.parametrize(("name", "names"), list(routes("owner")))
def test_no_press_of_the_owner_gets_round_an_open_check(owner_client, scene, at_eight, name, names):
    for given in arguments(scene, names) or []:
        owner_client.post(reverse(name, kwargs=given), form(scene))

    assert_holds(scene)


def test_a_right_signature_is_the_way_through(scene, settings, tmp_path, now):
    settings.MEDIA_ROOT = tmp_path
    evidence.add_photo(file=picture(), build=scene.build, task=scene.test, by=scene.by, now=now)

    sign(scene)

    floor.start_task(task=scene.walls, by=By(person=scene.by.person), now=now)
    assert Task.objects.get(pk=scene.walls.pk).state == "under way"
    assert FloorEvent.objects.filter(verb="pass").count() == 1
    assert Person.objects.filter(name="Osric Vane").count() == 0
