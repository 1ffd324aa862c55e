"""The floor in gloves, at arm's length, and by ear: big targets, strong contrast, nothing hidden."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from builds.actions import floor
from builds.actions.floor import By
from tests.browser.busy_floor import make_busy_floor
from tests.browser.hands import HEARD, ONLY_ON_HOVER, OPEN_ALL, faint_words, small_targets
from tests.browser.test_every_screen import pages

WIDTHS = {"tablet": (820, 1180), "phone": (390, 844)}
NOT_BY_TOUCH = {
    "dblclick",
    "mouseenter",
    "mouseover",
    "mousemove",
    "pointerover",
    "pointerenter",
    "contextmenu",
}
SWIPES = {"touchstart", "touchmove", "touchend", "wheel"}


@pytest.fixture
def busy(site, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    return make_busy_floor()


@pytest.fixture
def screens(busy, site):
    """Every page of the floor, by name."""
    found = {name: site + path for name, path in pages("floor", busy.ids)}
    shown = {
        name: found[name] for name in ("pair", "names", "job-sheet", "unit", "cut-sheet", "van", "hold-point")
    }
    others = set(found) - set(shown)
    return shown, {name: found[name] for name in others}


def test_the_screens_that_are_looked_at_are_all_there_are(on_tablet, screens):
    _, others = screens
    pages_too = [name for name, url in others.items() if on_tablet.request.get(url).status == 200]

    assert pages_too == ["state"]


def test_everything_to_tap_is_large_enough_and_free(on_tablet, screens):
    page, wrong = on_tablet, []
    for name, url in screens[0].items():
        for width, size in WIDTHS.items():
            page.set_viewport_size({"width": size[0], "height": size[1]})
            opened(page, url)
            page.evaluate(OPEN_ALL)
            wrong += [f"{name}, {width}: {line}" for line in small_targets(page)]

    assert wrong == []


def test_every_word_stands_out_in_both_lights(on_tablet, screens):
    page, wrong = on_tablet, []
    for light in ("light", "dark"):
        page.emulate_media(color_scheme=light)
        for name, url in screens[0].items():
            opened(page, url)
            page.evaluate(OPEN_ALL)
            wrong += [f"{name}, {light}: {line}" for line in faint_words(page)]

    assert wrong == []


def test_what_is_refused_and_what_waits_stands_out_and_can_be_tapped(on_tablet, site, busy):
    page, ceiling = on_tablet, busy.tasks["line-ceiling"].pk
    opened(page, busy.address(site))
    page.locator(f"#hours-{ceiling}").fill("many")
    page.locator(f"#tick-{ceiling}").click()
    expect(page.get_by_role("alert")).to_be_visible()
    page.context.set_offline(True)
    page.locator(f"#start-{busy.tasks['fit-hob'].pk}").click()
    expect(page.locator("#queue-list li")).to_have_count(1)

    for light in ("light", "dark"):
        page.emulate_media(color_scheme=light)
        assert (small_targets(page), faint_words(page)) == ([], [])


def test_nothing_needs_a_hover_a_double_tap_or_a_swipe(on_tablet, screens):
    page, wrong = on_tablet, []
    page.add_init_script(HEARD)
    for name, url in screens[0].items():
        page.goto(url)
        page.locator("html[data-ready=yes]").wait_for()
        heard = set(page.evaluate("[...window.heard]"))
        assert "click" in heard
        wrong += [f"{name} listens to {kind}" for kind in heard & (NOT_BY_TOUCH | SWIPES)]
        wrong += [f"{name}: {line}" for line in page.evaluate(ONLY_ON_HOVER)]
        assert page.locator("[draggable=true], [data-drag-task]").count() == 0

    assert wrong == []


def opened(page, url):
    """The page with its scripts in place: a press before that is an ordinary form's, and nothing is said."""
    page.goto(url)
    page.locator("html[data-ready=yes]").wait_for()


def said(page, words):
    """Read out where a screen reader listens: a polite live region that is part of what it is given."""
    region = page.locator("#said")
    expect(region).to_have_attribute("aria-live", "polite")
    expect(page.get_by_role("status").filter(has_text=re.compile(words))).to_have_count(1)


def test_a_tick_is_heard_and_the_keyboard_stays_on_the_sheet(on_tablet, site, busy):
    page, ceiling = on_tablet, busy.tasks["line-ceiling"].pk
    opened(page, busy.address(site))

    page.locator(f"#tick-{ceiling}").press("Enter")

    said(page, "^Line ceiling: Done$")
    assert page.evaluate("document.getElementById('main').contains(document.activeElement)")


def test_a_stop_is_heard_with_its_reason(on_tablet, site, busy):
    page, ceiling = on_tablet, busy.tasks["line-ceiling"].pk
    opened(page, busy.address(site))

    page.locator(f"#stop-{ceiling} > summary").press("Enter")
    page.locator(f"#stop-{ceiling} button").first.press("Enter")

    said(page, "^Line ceiling: Stopped: ")


def test_a_refusal_is_heard_and_read_next(on_tablet, site, busy):
    page, ceiling = on_tablet, busy.tasks["line-ceiling"].pk
    opened(page, busy.address(site))

    page.locator(f"#hours-{ceiling}").fill("many")
    page.locator(f"#tick-{ceiling}").press("Enter")

    alert = page.get_by_role("alert")
    expect(alert).to_be_focused()
    expect(alert).to_contain_text("Hours have to be a number")


def test_what_waits_and_what_is_sent_is_heard(on_tablet, site, busy):
    page = on_tablet
    opened(page, busy.address(site))
    state = page.get_by_role("status").and_(page.locator("#queue-state"))
    expect(state).to_have_text("All sent")
    page.context.set_offline(True)

    page.locator(f"#start-{busy.tasks['fit-hob'].pk}").press("Enter")

    said(page, "^Kept on this tablet until it can be sent$")
    expect(state).to_have_text("1 waiting to be sent")
    page.context.set_offline(False)
    expect(state).to_have_text("All sent", timeout=15_000)


def test_a_change_by_somebody_else_is_heard(on_tablet, site, busy):
    page, rail = on_tablet, busy.tasks["fit-rail"]
    opened(page, busy.address(site))
    floor.go_on(task=rail, by=By(person=busy.person), now=timezone.now())

    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")

    said(page, "^The job sheet has changed$")
    expect(page.locator("#last")).to_contain_text("Went on: Fit rail")


def test_what_the_figures_of_a_check_say_is_heard(on_tablet, site, busy):
    page = on_tablet
    opened(page, site + reverse("floor:hold-point", args=[busy.person.pk, busy.ids["check"]]))

    page.get_by_label("Pressure").fill("1.2")
    page.get_by_label("Pressure").press("Tab")

    said(page, "less than the 1.5")
