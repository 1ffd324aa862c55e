"""The proof of the floor: whatever happens to network, server, browser, tablet and app, everything that was
pressed arrives once, in order, under the name of who did it.

A production server in processes of its own on a database file, a real service worker, a browser profile on
disk.
"""

from __future__ import annotations

import shutil
import time
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from builds.actions import floor, tablets
from builds.actions.cutting import lay_out
from builds.actions.planning import planned_by_hand
from builds.management.measuring.machine import ROOT, Machine
from builds.models import CutSheet, Delivery, Link, Person, Photo, PlanRow, Tablet, Task
from tests import cast

from .floor_device import SENT_WITHIN_MS, Device, arrived, from_tablets
from .wire import Wire

WORK = ("line-ceiling", "line-walls", "fit-bed", "fit-kitchen", "fit-overhead", "fit-wardrobe", "fit-table")
WORK += ("fit-door-cards", "fit-shelf", "fit-trim")
PHOTOS = (1, 3, 4, 7, 9)
SHUT_OUT = "waiting to be sent. This tablet is not paired: ask the owner"
AN_HOUR_FAST = """
const Right = Date;
Date = class extends Right {
  constructor(...given) { super(...(given.length ? given : [Right.now() + 3600000])); }
  static now() { return Right.now() + 3600000; }
};
"""


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
    """Ten tasks for today, five on the sheet of each."""
    now = timezone.now()
    day = now.date()
    build = cast.make_build(arrives_on=day - timedelta(days=9), promised_on=day + timedelta(days=90))
    made = [cast.make_task(build, key, hours=3) for key in WORK]
    for n, task in enumerate(made):
        plan(task, people[n // 5])
    return made


def plan(task: Task, person: Person) -> None:
    now, reason = timezone.now(), {"code": "now"}
    finish = now + timedelta(hours=3)
    PlanRow.objects.create(task=task, start=now, finish=finish, fitters=[person.pk], reason=reason)


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
def device(browser, wire, people):
    """A paired tablet that has everybody's pages, and then loses its network."""
    found = Device(browser, wire.url)
    pair(found, wire, people)
    yield found
    found.close()


def pair(device: Device, wire: Wire, people) -> None:
    device.open()
    device.pair(tablets.add_tablet(name="Bench", now=timezone.now(), by=cast.make_owner())[1])
    device.keep_pages(*people)
    wire.cut()


def until(is_so: Callable[[], bool], within_s: float = 30) -> None:
    end = time.monotonic() + within_s
    while not is_so():
        assert time.monotonic() < end, "it did not come to that"
        time.sleep(0.01)


def assert_all_arrived(device: Device) -> None:
    """Once, in order, by whom it was, when it was; and nothing refused or out of the tablet's own order."""
    assert arrived() == device.done
    events = list(from_tablets().order_by("pk"))
    assert {e.outcome for e in events} == {"kept"}
    assert [e.sequence for e in events] == sorted({e.sequence for e in events})
    assert [e.happened_at for e in events] == sorted(e.happened_at for e in events)
    apart = [abs(e.happened_at - at) for e, at in zip(events, device.pressed_at, strict=True)]
    assert max(apart) < timedelta(seconds=20)


def a_few_things(device: Device, people, tasks) -> None:
    """Five things by two people, a photo among them."""
    device.tap(people[0])
    device.press("start", tasks[0])
    device.press("photo", tasks[0], "behind the lining")
    device.press("tick", tasks[0], "2.5")
    device.tap(people[1])
    device.press("note", tasks[5], "Felt is short by a metre")
    device.press("stop", tasks[5], "Place is taken")


def a_long_day(device: Device, n: int, task: Task) -> None:
    """Five or six things to one task."""
    device.press("start", task)
    device.press("note", task, f"Note {n}")
    if n in PHOTOS:
        device.press("photo", task, f"behind {n}")
    device.press("snag", task, f"Snag {n}")
    device.press("stop", task, "Place is taken") if n % 3 else device.press("half", task, "4")
    device.press("tick", task, f"{n + 1}")


@pytest.fixture
def earlier(people, tasks):
    """What was done with network before: a task that dries, and one that Sable stopped."""
    wren, sable = people
    now = timezone.now()
    glued = cast.make_task(tasks[0].build, "glue-up")
    fitted = cast.make_task(tasks[0].build, "fit-frame", after=((glued, 24 * 60),))
    plan(fitted, wren)
    with planned_by_hand():
        floor.tick_task(task=glued, hours="1", by=floor.By(person=wren), now=now - timedelta(hours=30))
        floor.stop_task(task=tasks[5], reason="place is taken", by=floor.By(person=sable), now=now)
    assert Link.objects.get().after == fitted
    ply = Delivery.objects.create(build=fitted.build, what="Curved ply", expected_on=now.date())
    ply.tasks.add(tasks[0])
    return fitted


@pytest.fixture
def cutting(people, tasks):
    """Cutting with a sheet laid out, on Sable's sheet."""
    unit = cast.make_unit(tasks[0].build)
    cast.make_part(unit, cast.make_board(), "Side", 2000, 585, count=3)
    found = cast.make_task(
        unit.build, "cut-parts", unit=unit, standard="cut", place_id="bench", needs_van=False
    )
    plan(found, people[1])
    with planned_by_hand():
        lay_out(builds=[unit.build], now=timezone.now(), by=None)
    return found


@pytest.fixture
def fast(browser, tmp_path, earlier, cutting, wire, people):
    """A tablet with a browser that can be closed, and a clock an hour fast."""
    found = Device(browser, wire.url, tmp_path / "profile", AN_HOUR_FAST)
    pair(found, wire, people)
    yield found
    found.close()


def assert_each_is_shown(device: Device) -> None:
    """Folded away, so that it covers nothing; one by one when they are asked for."""
    lines = device.page.locator("#queue-list > li")
    expect(lines.first).to_be_hidden()
    device.page.get_by_role("button", name="Show them").click()
    expect(lines.first).to_be_visible()
    words = lines.all_inner_texts()
    assert len(words) == len(device.done)
    assert all("waits to be sent" in line for line in words)
    assert words[1].startswith("I have it all: start Line ceiling, ")


def test_a_long_day_without_network_with_everything_that_can_break(
    earlier, cutting, fast, wire, machine, people, tasks
):
    device, (wren, sable) = fast, people
    device.tap(wren)
    device.press("wet", earlier, "4")
    for n, task in enumerate(tasks[:3]):
        a_long_day(device, n, task)
    device.page.reload()
    device.says(f"{len(device.done)} waiting to be sent")
    assert_each_is_shown(device)
    for n, task in enumerate(tasks[3:5], start=3):
        a_long_day(device, n, task)
    device.close()
    device.open(f"/floor/{sable.pk}/")
    device.says(f"{len(device.done)} waiting to be sent")
    device.press("undo", tasks[5])
    device.press("note", tasks[5], "It goes on")
    device.press("snag", tasks[5], "A scratch")
    device.press("cut", cutting, "1.5")
    for n, task in enumerate(tasks[6:], start=6):
        a_long_day(device, n, task)
    assert len(device.done) == 50 + len(PHOTOS)
    assert arrived() == []

    wire.loses = 2
    wire.mend()
    for lost in (1, 2):
        device.notices_network()
        until(lambda lost=lost: wire.lost == lost)
    device.notices_network()
    until(lambda: from_tablets().count() >= 20)
    machine.kill()
    before = arrived()
    assert len(before) < len(device.done)
    assert before == device.done[: len(before)]
    machine.start()
    device.page.reload()
    device.says("All sent", SENT_WITHIN_MS)

    assert_all_arrived(device)
    hour = 3_600_000
    assert all(abs(e.offset_ms + hour) < 20_000 for e in from_tablets())
    assert all(e.device_at - e.happened_at > timedelta(minutes=59) for e in from_tablets())
    assert from_tablets().get(verb="start", task=tasks[0]).payload["missing"] == ["Curved ply"]
    assert CutSheet.objects.exclude(cut_at=None).get().cut_by == sable
    assert sorted(Photo.objects.values_list("behind", flat=True)) == [f"behind {n}" for n in PHOTOS]
    assert all(max(p.width_px, p.height_px) == 1600 for p in Photo.objects.all())
    assert set(Task.objects.filter(key__in=WORK, state="done")) == {*tasks[:5], *tasks[6:]}
    assert Task.objects.get(pk=tasks[5].pk).state == "to do"


@pytest.mark.parametrize("how", ["the cookies ran out", "the key was given to another device"])
def test_a_tablet_that_is_shut_out_keeps_everything_until_it_is_paired_again(
    how, device, wire, people, tasks, client
):
    a_few_things(device, people, tasks)
    owner, now = cast.make_owner("heron"), timezone.now()
    tablet = Tablet.objects.get()
    if how == "the cookies ran out":
        device.context.clear_cookies()
    else:
        _, code = tablets.pair_again(tablet=tablet, now=now, by=owner)
        client.post("/floor/pair/", {"code": code})
    wire.mend()
    device.notices_network()
    device.says(f"5 {SHUT_OUT}")
    assert arrived() == []

    _, code = tablets.pair_again(tablet=tablet, now=now, by=owner)
    device.pair(code)
    device.says("All sent", SENT_WITHIN_MS)

    assert_all_arrived(device)
    assert set(from_tablets().values_list("tablet__name", flat=True)) == {"Bench"}


def test_a_form_token_that_is_good_no_more_in_mid_flush_loses_nothing(device, wire, people, tasks):
    a_few_things(device, people, tasks)

    def forget_token(route):
        device.context.clear_cookies(name="csrftoken")
        route.continue_()

    device.page.route("**/note/", forget_token)
    wire.mend()
    device.notices_network()
    until(lambda: from_tablets().count() == 3)
    device.page.unroute_all()
    device.page.reload()
    device.says("All sent", SENT_WITHIN_MS)

    assert_all_arrived(device)


def test_what_the_shop_fails_at_steps_aside_and_goes_again_when_told(device, wire, people, tasks):
    a_few_things(device, people, tasks)
    device.page.route("**/photo/", lambda route: route.fulfill(status=500, body="Server Error"))
    wire.mend()
    for tries in range(1, 6):
        with device.page.expect_response("**/photo/"):
            device.notices_network()
        device.says("4 waiting to be sent" if tries < 5 else "1 needs you", SENT_WITHIN_MS)
    assert Photo.objects.count() == 0
    assert from_tablets().count() == 4

    line = device.page.locator("#queue-list > li")
    expect(line).to_contain_text("the shop’s computer failed at this 5 times")
    line.get_by_role("button", name="Throw away").click()
    expect(line.get_by_role("button", name="Yes, throw it away")).to_be_visible()
    device.page.unroute_all()
    line.get_by_role("button", name="Send again").click()
    device.says("All sent", SENT_WITHIN_MS)

    assert sorted(arrived()) == sorted(device.done)
    assert Photo.objects.get().behind == "behind the lining"


def test_two_tabs_that_send_at_once_send_everything_once(device, wire, people, tasks):
    device.tap(people[0])
    other = device.another_tab()
    other.tap(people[1])
    for n, task in enumerate((tasks[0], tasks[5], tasks[1], tasks[6])):
        front = other if n % 2 else device
        front.page.bring_to_front()
        front.says(f"{n} waiting to be sent" if n else "All sent")
        front.press("note", task, f"Note {n}")
    wire.mend()
    before = wire.posts

    device.notices_network()
    other.notices_network()
    device.says("All sent", SENT_WITHIN_MS)
    other.says("All sent", SENT_WITHIN_MS)

    assert_all_arrived(device)
    assert wire.posts - before == 4


@pytest.fixture
def newer(machine, tmp_path):
    """The next version of the app on the machine: other scripts, another service worker."""
    root = tmp_path / "next"
    for part in ("builds", "workshop", "static", "templates"):
        shutil.copytree(ROOT / part, root / part)
    shutil.copy(ROOT / "manage.py", root)
    for path in ("static/js/lib/queue.js", "templates/floor/service-worker.js"):
        (root / path).write_text((root / path).read_text().replace("All sent", "All is sent") + "/* next */")
    found = Machine(tmp_path / "next-var", root)
    found.collect_static()
    found.start()
    yield found
    found.kill()


def until_new(device: Device) -> None:
    """Loads the page until the next version is in it: one that comes late is shown as it was kept."""
    shown = device.page.locator("#queue-state")

    def is_new() -> bool:
        device.page.reload()
        until(lambda: shown.inner_text().endswith("sent"))
        return shown.inner_text() == "All is sent"

    until(is_new)


def test_an_app_that_is_updated_takes_what_waits_from_the_one_before(device, wire, people, tasks, newer):
    a_few_things(device, people, tasks)
    wire.to = newer.port
    wire.mend()

    until_new(device)
    assert_all_arrived(device)
    device.keep_pages(*people)
    wire.cut()

    device.tap(people[1])
    device.press("tick", tasks[6], "1")
    wire.mend()
    device.page.reload()
    device.says("All is sent", SENT_WITHIN_MS)
    assert_all_arrived(device)
