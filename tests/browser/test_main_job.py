"""The whole main job in a real browser: from a van at the door to the Friday sheet on a phone."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from builds.actions.library import load_standard_library
from builds.models import Build, Person, Pin, PlanRow, ProgressSheet, Task
from tests import cast


@pytest.fixture
def workshop(site):
    """The shop with the standard library, and people for every trade."""
    load_standard_library(now=timezone.now())
    cast.make_person("Wren Alder", "joinery", "finishing", "trim", "vehicle", "owner")
    cast.make_person("Sable Quill", "electrical", "heating", "plumbing", "vehicle")
    cast.make_person("Osric Vane", "gas", "mains", is_visitor=True, competence="registered, 00-test")
    return site


def test_from_a_van_at_the_door_to_the_friday_sheet(as_owner, workshop, troubles):
    page, site = as_owner, workshop

    begin_a_build(page, site)
    build = Build.objects.get()
    the_date_comes_by_itself(page, site, build)
    work_is_moved_and_put_back(page, site)
    a_fitter_works_on_a_paired_tablet(page, site, build)
    the_friday_sheet_is_sent(page, site, build)
    the_customer_reads_it(page, build)

    assert troubles == []


def begin_a_build(page, site):
    page.goto(f"{site}/builds/new/")
    page.get_by_label("Name of the van").fill("Heron")
    page.get_by_label("Customer", exact=True).fill("Marian Ashdown")
    page.get_by_label("Comes to stay on").fill(date.today().isoformat())
    page.get_by_label("Start from a body size").select_option("long_high")
    expect(page.get_by_label("Wheelbase")).to_have_value("4035")
    page.get_by_role("button", name="Leave out Door cards").click()
    page.get_by_label("Another unit").select_option("pantry")
    page.get_by_role("button", name="Add it").click()
    expect(page.locator("input[value='Pantry']")).to_be_visible()
    page.get_by_role("button", name="Begin the build").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Heron")


def the_date_comes_by_itself(page, site, build):
    expect(page.get_by_text("starts", exact=False).first).to_be_visible()
    expect(page.locator("#build-date")).to_contain_text(re.compile("because"))
    promised = date.today() + timedelta(days=200)
    page.goto(f"{site}/builds/{build.pk}/facts/")
    page.get_by_label("Handover promised for").fill(promised.isoformat())
    page.get_by_role("button", name="Promise this date").click()
    expect(page.get_by_text("Promised, and on record.")).to_be_visible()


def work_is_moved_and_put_back(page, site):
    page.goto(f"{site}/wall/")
    item = page.locator("[data-drag-task]").first
    week = page.locator("[data-drop-week]").nth(3)
    week_day = week.get_attribute("data-drop-week")
    item.drag_to(week)
    panel = page.locator("#move")
    expect(panel.get_by_role("button", name="Keep the move")).to_be_visible()
    panel.get_by_role("button", name="Keep the move").click()
    expect(panel.get_by_role("button", name="Put it back")).to_be_visible()
    assert {p.monday.isoformat() for p in Pin.objects.all()} == {week_day}
    panel.get_by_role("button", name="Put it back").click()
    expect(panel).to_be_empty()
    assert not Pin.objects.exists()


def a_fitter_works_on_a_paired_tablet(page, site, build):
    """Pairs a second device by its code; a fitter starts the first task, ticks it and takes it back."""
    page.goto(f"{site}/tablets/")
    page.get_by_label("Its name").fill("Bench tablet")
    page.get_by_role("button", name=re.compile("Add|Show a code|Make")).last.click()
    code = page.locator(".pair-code").inner_text()
    tablet = page.context.browser.new_context(viewport={"width": 820, "height": 1180}, locale="en-GB")
    floor = tablet.new_page()
    floor.goto(f"{site}/floor/")
    floor.get_by_role("textbox").first.fill(code)
    floor.get_by_role("button", name="Pair").click()
    task = PlanRow.objects.filter(task__build=build).order_by("start", "pk").first()
    fitter = Person.objects.get(pk=task.fitters[0])
    floor.get_by_role("link", name=fitter.name).click()
    floor.locator(f"#start-{task.task_id}").click()
    expect(floor.locator(f"#task-{task.task_id}").get_by_text("under way")).to_be_visible()
    floor.locator(f"#tick-{task.task_id}").click()
    expect(floor.locator(f"#task-{task.task_id}")).to_have_count(0)
    assert Task.objects.get(pk=task.task_id).state == "done"
    tablet.close()


def the_friday_sheet_is_sent(page, site, build):
    page.goto(f"{site}/builds/{build.pk}/papers/")
    page.get_by_role("button", name=re.compile("Draft the sheet")).first.click()
    page.locator("textarea[name=done]").fill("Your van is here, stripped and measured.")
    page.get_by_role("button", name="Keep and send").click()
    expect(page.get_by_text(re.compile("sent", re.I)).first).to_be_visible()
    assert ProgressSheet.objects.exclude(sent_at=None).count() == 1


def live_date(build: Build) -> str:
    """The day on which the plan hands over now, in the words of a customer's page."""
    last = timezone.localdate(PlanRow.objects.filter(task__build=build).order_by("finish").last().finish)
    return f"{last.day} {last:%B} {last.year}"


def the_customer_reads_it(page, build):
    page.goto(page.url.split("/builds/")[0] + f"/builds/{build.pk}/papers/")
    page.get_by_role("button", name="Make a private link").click()
    address = page.locator("#address").input_value()
    page.context.clear_cookies()
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(address)
    expect(page.get_by_text("Your van is here, stripped and measured.")).to_be_visible()
    expect(page.locator("body")).not_to_contain_text(
        re.compile(r"forecast (handover|date)|\blate\b|margin", re.I)
    )
    expect(page.locator("body")).not_to_contain_text(live_date(build))
