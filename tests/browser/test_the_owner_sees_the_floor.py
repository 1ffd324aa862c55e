"""What is ticked on a tablet shows on the owner's open pages within seconds, without a reload."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from builds.models import PlanRow, Tablet
from builds.queries.tablets import COOKIE, hash_of
from tests import cast

SECONDS = 10


@pytest.fixture
def task(site):
    wren = cast.make_person("Wren Alder", "joinery", "owner")
    today = timezone.now().date()
    build = cast.make_build(arrives_on=today - timedelta(days=9), promised_on=today + timedelta(days=90))
    found = cast.make_task(build, "line-ceiling", hours=3)
    cast.make_task(build, "line-walls", hours=5)
    now = timezone.now()
    PlanRow.objects.create(
        task=found,
        start=now,
        finish=now + timedelta(hours=3),
        fitters=[wren.pk],
        reason={"code": "now"},
    )
    return found


@pytest.fixture
def tablet(page, site, task):
    """Another device's page: the job sheet of the task's fitter, on a paired tablet."""
    token = "the-second-device-of-this-browser-test"
    Tablet.objects.create(name="Bench tablet", token_hash=hash_of(token), paired_at=datetime.now(UTC))
    context = page.context.browser.new_context(viewport={"width": 820, "height": 1180}, locale="en-GB")
    context.add_cookies([{"name": COOKIE, "value": token, "url": site}])
    sheet = context.new_page()
    sheet.goto(f"{site}/floor/{PlanRow.objects.get().fitters[0]}/")
    yield sheet
    context.close()


def stamp(page) -> None:
    """Marks the loaded document, so that a reload would show."""
    page.evaluate("document.documentElement.dataset.loaded = 'once'")


def was_reloaded(page) -> bool:
    return page.evaluate("document.documentElement.dataset.loaded") != "once"


def test_the_build_s_work_shows_a_tick_and_keeps_what_is_chosen(as_owner, site, tablet, task):
    page = as_owner
    page.goto(f"{site}/builds/{task.build_id}/work/")
    other = task.build.tasks.get(key="line-walls")
    page.locator(f"#choose-{other.pk}").check()
    stamp(page)

    tablet.locator(f"#tick-{task.pk}").click()

    row = page.locator("tr", has=page.locator(f"#choose-{task.pk}"))
    expect(row).to_contain_text("done", timeout=SECONDS * 1000)
    expect(page.locator("#build-work-list")).to_contain_text("1 of 2 tasks done")
    expect(page.locator(f"#choose-{other.pk}")).to_be_checked()
    assert not was_reloaded(page)


def test_this_week_and_the_build_s_page_show_a_stop_and_its_reason(as_owner, site, tablet, task):
    week = as_owner
    week.goto(f"{site}/")
    build = week.context.new_page()
    build.goto(f"{site}/builds/{task.build_id}/")
    stamp(week)
    stamp(build)

    tablet.locator(f"#stop-{task.pk} > summary").click()
    tablet.get_by_role("button", name="Place is taken").click()

    expect(build.locator("#build-now")).to_contain_text("place is taken", timeout=SECONDS * 1000)
    week.bring_to_front()
    expect(week.locator("#week")).to_contain_text("is stopped: place is taken", timeout=SECONDS * 1000)
    assert not was_reloaded(week)
    assert not was_reloaded(build)
