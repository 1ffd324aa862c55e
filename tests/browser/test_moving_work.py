"""Moving work on the wall sheet as a person does: by hand, and without one; shown, kept, put back."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from builds.actions.planning import replan
from builds.models import Pin
from builds.queries.opening import monday_of
from tests import cast

WEEK = timedelta(days=7)


@pytest.fixture
def wall(as_owner, site):
    """The wall sheet of one van with one joiner; the page, its first task and a Monday three weeks on."""
    cast.make_person("Wren Alder", "joinery")
    build = cast.make_build(arrives_on=timezone.localdate() - WEEK, promised_on=None)
    cast.make_task(build, "cut-parts", hours=4)
    replan(now=timezone.now())
    as_owner.goto(f"{site}/wall/")
    return as_owner


def far_week() -> date:
    return monday_of(timezone.localdate()) + 3 * WEEK


def test_work_is_dragged_to_another_week_shown_kept_and_put_back(wall, troubles):
    item = wall.locator("[data-drag-task]").first
    week = wall.locator(f'[data-drop-week="{far_week()}"]').first
    item.drag_to(week)

    expect(wall.locator("#move")).to_contain_text("What this does:")
    assert not Pin.objects.exists()

    wall.get_by_role("button", name="Keep the move").click()
    expect(week.locator("[data-drag-task]")).to_have_count(1)
    assert Pin.objects.get().monday == far_week()

    wall.get_by_role("button", name="Put it back").click()
    expect(week.locator("[data-drag-task]")).to_have_count(0)
    assert not Pin.objects.exists()
    assert troubles == []


def test_work_is_moved_by_keyboard_alone(wall, troubles):
    wall.locator("[data-drag-task] a").first.focus()
    wall.keyboard.press("Enter")
    expect(wall.locator("#move-title")).to_be_focused()

    wall.keyboard.press("Tab")
    wall.locator("#move-week").select_option(far_week().isoformat())
    wall.get_by_role("button", name="Show what it does").press("Enter")
    expect(wall.locator("#move-title")).to_be_focused()
    wall.get_by_role("button", name="Keep the move").press("Enter")

    expect(wall.get_by_role("button", name="Put it back")).to_be_visible()
    assert Pin.objects.get().monday == far_week()
    assert troubles == []


def test_the_sheet_stays_where_it_was_scrolled_when_the_plan_changes(wall, site):
    wall.set_viewport_size({"width": 600, "height": 700})
    wall.goto(f"{site}/wall/")
    frame = wall.locator(".weeks-frame")
    frame.evaluate("frame => { frame.scrollLeft = 333; }")
    before = frame.element_handle()

    with wall.expect_response("**/wall/?*"):
        wall.evaluate("htmx.trigger(document.body, 'plan-changed')")
    before.wait_for_element_state("hidden")

    assert wall.locator(".weeks-frame").evaluate("frame => frame.scrollLeft") == 333
