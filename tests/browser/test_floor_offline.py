"""The job sheet without network: it opens, takes ticks and notes, and sends them once, in order."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from builds.models import FloorEvent, Note, PlanRow, Tablet, Task
from tests import cast

WAITS = re.compile("waiting to be sent")


@pytest.fixture
def work(site):
    """One task for today on the sheet of Wren Alder."""
    wren = cast.make_person("Wren Alder", "joinery")
    today = timezone.now().date()
    build = cast.make_build(arrives_on=today - timedelta(days=9), promised_on=today + timedelta(days=90))
    task = cast.make_task(build, "line-ceiling", hours=3)
    now = timezone.now()
    PlanRow.objects.create(task=task, start=now, finish=now + timedelta(hours=3), fitters=[wren.pk])
    return wren, task


def opened(page, site, wren):
    page.goto(f"{site}/floor/")
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.goto(f"{site}/floor/{wren.pk}/")
    expect(page.locator("#queue-state")).to_have_text("All sent")


def test_what_is_done_without_network_is_sent_once_and_in_order(on_tablet, site, work):
    page, (wren, task) = on_tablet, work
    opened(page, site, wren)
    page.context.set_offline(True)

    page.locator(f"#start-{task.pk}").click()
    expect(page.locator("#queue-state")).to_have_text("1 waiting to be sent")
    page.reload()
    expect(page.locator("#queue-state")).to_have_text("1 waiting to be sent")
    page.locator(f"#note-{task.pk} > summary").click()
    page.locator(f"#note-text-{task.pk}").fill("Felt is short by a metre")
    page.get_by_role("button", name="Keep the note").click()
    page.locator(f"#tick-{task.pk}").click()
    expect(page.locator("#queue-state")).to_have_text("3 waiting to be sent")
    assert not FloorEvent.objects.exists()

    page.context.set_offline(False)
    expect(page.locator("#queue-state")).to_have_text("All sent", timeout=15_000)

    assert list(FloorEvent.objects.values_list("verb", flat=True)) == ["start", "note", "tick"]
    assert {(e.person, e.tablet) for e in FloorEvent.objects.all()} == {(wren, Tablet.objects.get())}
    assert all(e.device_at and e.sequence for e in FloorEvent.objects.all())
    assert Task.objects.get(pk=task.pk).state == "done"
    assert Note.objects.get().text == "Felt is short by a metre"


def test_a_withdrawn_tablet_keeps_what_waits_until_it_is_paired_again(on_tablet, site, work):
    page, (wren, task) = on_tablet, work
    opened(page, site, wren)
    page.context.set_offline(True)
    page.locator(f"#start-{task.pk}").click()
    expect(page.locator("#queue-state")).to_have_text(WAITS)

    Tablet.objects.update(withdrawn_at=timezone.now())
    page.context.set_offline(False)
    expect(page.locator("#queue-state")).to_contain_text("not paired", timeout=15_000)
    assert not FloorEvent.objects.exists()
    Tablet.objects.update(withdrawn_at=None)
    page.goto(f"{site}/floor/{wren.pk}/")

    expect(page.locator("#queue-state")).to_have_text("All sent", timeout=15_000)
    assert FloorEvent.objects.get().verb == "start"


def test_what_the_shop_refuses_is_shown_until_it_is_seen(on_tablet, site, work):
    page, (wren, task) = on_tablet, work
    opened(page, site, wren)
    page.context.set_offline(True)
    page.locator(f"#tick-{task.pk}").click()
    expect(page.locator("#queue-state")).to_have_text(WAITS)
    cast.make_task(task.build, "felt-first")
    first = Task.objects.get(key="felt-first")
    task.links_in.create(before=first, wait_minutes=0)

    page.context.set_offline(False)

    expect(page.locator("#queue-state")).to_have_text("1 needs you", timeout=15_000)
    expect(page.locator("#queue-list")).to_contain_text("“Felt first” is not done")
    assert FloorEvent.objects.get().outcome == "refused"
    page.get_by_role("button", name="Seen").click()
    expect(page.locator("#queue-state")).to_have_text("All sent")
