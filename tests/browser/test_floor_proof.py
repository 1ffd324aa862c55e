"""The proof of the floor: whatever happens to network, server, browser, tablet and app, everything that was
pressed arrives once, in order, under the name of who did it.

A production server in processes of its own on a database file, a real service worker, a browser profile on
disk.
"""

from __future__ import annotations

import time
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from builds.actions import tablets
from builds.models import FloorEvent, Note, Photo, PlanRow, Snag, Task
from tests import cast
from tests.machine import Machine

from .floor_device import SENT_WITHIN_MS, Device, arrived
from .wire import Wire

TASKS = ("line-ceiling", "line-walls", "fit-bed", "fit-kitchen", "fit-door-cards", "fit-shelf")


@pytest.fixture(scope="module")
def shop_machine(django_db_setup, tmp_path_factory):
    """The machine in the shop, for all the tests here, with static files as they are served: hashed."""
    found = Machine(tmp_path_factory.mktemp("var"))
    found.collect_static()
    yield found
    found.kill()


@pytest.fixture
def people(in_the_shop):
    return cast.make_person("Wren Alder", "joinery"), cast.make_person("Sable Quill", "joinery")


@pytest.fixture
def tasks(people):
    """Six tasks for today, three on the sheet of each."""
    return make_tasks(TASKS, people)


def make_tasks(keys, people) -> list[Task]:
    now = timezone.now()
    today = now.date()
    build = cast.make_build(arrives_on=today - timedelta(days=9), promised_on=today + timedelta(days=90))
    made = [cast.make_task(build, key, hours=3) for key in keys]
    for n, task in enumerate(made):
        who = people[0] if n < len(made) / 2 else people[1]
        finish = now + timedelta(hours=3)
        reason = {"code": "now"}
        PlanRow.objects.create(task=task, start=now, finish=finish, fitters=[who.pk], reason=reason)
    return made


@pytest.fixture
def machine(shop_machine, tasks):
    if not shop_machine.is_running:
        shop_machine.start()
    return shop_machine


@pytest.fixture
def wire(machine):
    found = Wire(machine.port)
    yield found
    found.close()


@pytest.fixture
def device(playwright, tmp_path, wire, people):
    """A paired tablet that has everybody's pages, and then loses its network."""
    return paired(Device(playwright, tmp_path / "profile", wire.url), wire, people)


def paired(device: Device, wire: Wire, people):
    device.open()
    device.pair(new_code())
    device.keep_pages(*people)
    wire.cut()
    return device


def new_code() -> str:
    now = timezone.now()
    return tablets.add_tablet(name=f"Bench {time.monotonic_ns()}", now=now, by=cast.make_owner())[1]


def work_without_network(device: Device, people, tasks) -> None:
    """Twelve things, two photos among them, by two people on one tablet."""
    wren, sable = people
    device.tap(wren)
    device.press("start", tasks[0])
    device.press("note", tasks[0], "Felt is short by a metre")
    device.press("note", tasks[0], "Felt found behind the rack")
    device.press("photo", tasks[0], "behind the lining")
    device.press("tick", tasks[0], "2.5")
    device.press("stop", tasks[1], "Place is taken")
    device.tap(sable)
    device.press("start", tasks[3])
    device.press("snag", tasks[3], "Scratch by the step")
    device.press("photo", tasks[3], "kitchen, left")
    device.press("half", tasks[3], "4")
    device.press("tick", tasks[4], "1")
    device.tap(wren)
    device.press("tick", tasks[2], "3")


def assert_all_arrived(device: Device) -> None:
    """Once, in order, by whom it was; and nothing refused or out of the tablet's own order."""
    assert arrived() == device.done
    events = list(FloorEvent.objects.all())
    assert {e.outcome for e in events} <= {"kept"}
    assert [e.sequence for e in events] == sorted({e.sequence for e in events})
    assert [e.happened_at for e in events] == sorted(e.happened_at for e in events)


def test_a_day_without_network_a_reload_and_a_closed_browser(device, wire, people, tasks):
    work_without_network(device, people, tasks)
    device.page.reload()
    device.says("12 waiting to be sent")
    waits = device.page.locator("#queue-list > li")
    expect(waits.first).to_be_hidden()
    device.page.get_by_role("button", name="Show them").click()
    expect(waits.first).to_contain_text("Start Line ceiling")
    device.close()
    device.open(f"/floor/{people[1].pk}/")
    device.says("12 waiting to be sent")
    assert not FloorEvent.objects.exists()

    wire.mend()
    device.says("All sent", SENT_WITHIN_MS)
    device.close()

    assert_all_arrived(device)
    assert [n.text for n in Note.objects.order_by("pk")] == [
        "Felt is short by a metre",
        "Felt found behind the rack",
    ]
    assert Snag.objects.get().text == "Scratch by the step"
    assert {p.behind for p in Photo.objects.all()} == {"behind the lining", "kitchen, left"}
    assert all(max(p.width_px, p.height_px) == 1600 for p in Photo.objects.all())
    assert Task.objects.get(key="line-ceiling").state == "done"
