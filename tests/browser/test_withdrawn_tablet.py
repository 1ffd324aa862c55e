"""A tablet that was withdrawn keeps what waits on it, and nothing that was only for reading."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.utils import timezone
from playwright.sync_api import Error, expect

from builds.actions import tablets
from builds.models import FloorEvent, Tablet
from tests import cast
from tests.browser.busy_floor import make_busy_floor

KEPT_PAGES = """async () => {
  const stores = await Promise.all((await caches.keys()).map((name) => caches.open(name)));
  const requests = (await Promise.all(stores.map((store) => store.keys()))).flat();
  return requests.map(({ url }) => new URL(url).pathname).filter((path) => path.startsWith("/floor/"));
}"""
WAITING = """() => new Promise((resolve) => {
  indexedDB.open("floor").onsuccess = (opened) => {
    const queue = opened.target.result.transaction("queue").objectStore("queue");
    queue.count().onsuccess = (counted) => resolve(counted.target.result);
  };
})"""


@pytest.fixture
def busy(site, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    return make_busy_floor()


@pytest.fixture
def sheet(on_tablet, site, busy):
    """Wren's sheet, kept on the tablet."""
    on_tablet.goto(f"{site}/floor/")
    on_tablet.evaluate("navigator.serviceWorker.ready.then(() => true)")
    on_tablet.goto(busy.address(site))
    expect(on_tablet.locator("#queue-state")).to_have_text("All sent")
    on_tablet.wait_for_function(
        f"({KEPT_PAGES})().then((paths) => paths.includes('/floor/{busy.person.pk}/'))"
    )
    return on_tablet


def kept_pages(page, *, until: Callable[[list[str]], bool]) -> list[str]:
    """The addresses of the floor's pages that are kept, asked for ten seconds until they are as wanted."""
    for _ in range(100):
        paths = page.evaluate(KEPT_PAGES)
        if until(paths):
            break
        page.wait_for_timeout(100)
    return paths


def withdraw() -> None:
    tablets.withdraw_tablet(tablet=Tablet.objects.get(), now=timezone.now(), by=cast.make_owner())


def test_with_nothing_waiting_it_shows_no_sheet_any_more_even_without_network(sheet, site, busy):
    withdraw()

    sheet.goto(busy.address(site))
    expect(sheet.get_by_role("heading", name="Pair this tablet")).to_be_visible()
    assert kept_pages(sheet, until=lambda paths: not paths) == []
    sheet.context.set_offline(True)
    with pytest.raises(Error):
        sheet.goto(busy.address(site))


def test_a_sheet_that_lies_open_is_forgotten_by_the_next_question_it_asks(sheet):
    withdraw()

    sheet.evaluate("document.dispatchEvent(new Event('visibilitychange'))")

    assert kept_pages(sheet, until=lambda paths: not paths) == []


def test_what_waits_stays_when_the_pages_are_forgotten(sheet, site, busy):
    sheet.context.set_offline(True)
    sheet.locator(f"#start-{busy.tasks['test-tank'].pk}").click()
    expect(sheet.locator("#queue-state")).to_have_text("1 waiting to be sent")
    withdraw()
    sheet.context.set_offline(False)

    expect(sheet.locator("#queue-state")).to_contain_text("not paired", timeout=15_000)
    assert kept_pages(sheet, until=lambda paths: not paths) == []

    assert sheet.evaluate(WAITING) == 1
    assert not FloorEvent.objects.filter(verb="start").exists()
