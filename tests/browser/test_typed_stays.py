"""What was typed or chosen on the floor and not sent yet stays, whatever else happens to the sheet."""

from __future__ import annotations

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from builds.actions import floor
from builds.actions.floor import By
from builds.models import Note, Photo
from tests.actions.test_photos import picture
from tests.browser.busy_floor import make_busy_floor


@pytest.fixture
def busy(site, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    return make_busy_floor()


@pytest.fixture
def sheet(on_tablet, site, busy):
    on_tablet.goto(busy.address(site))
    on_tablet.locator("html[data-ready=yes]").wait_for()
    return on_tablet


def write_a_note(sheet, ceiling: int) -> None:
    sheet.locator(f"#note-{ceiling} > summary").click()
    sheet.keyboard.type("Felt is short by a metre")


def changed_by_somebody_else(sheet, busy) -> None:
    rail = busy.tasks["fit-rail"]
    by = By(person=busy.person)
    floor.add_note(build=rail.build, task=rail, text="Rail is bent", by=by, now=timezone.now())
    sheet.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(sheet.locator("#last")).to_contain_text("Note: Rail is bent")


def test_a_note_half_written_stays_when_other_work_is_ticked(sheet, busy):
    ceiling, tank = (busy.tasks[key].pk for key in ("line-ceiling", "test-tank"))
    write_a_note(sheet, ceiling)

    sheet.locator(f"#start-{tank}").click()
    expect(sheet.locator("#last")).to_contain_text("Started: Test tank")

    expect(sheet.locator(f"#note-text-{ceiling}")).to_be_visible()
    sheet.locator(f"#note-{ceiling}").get_by_role("button", name="Keep the note").click()
    expect(sheet.locator("#last")).to_contain_text("Note")
    assert Note.objects.get().text == "Felt is short by a metre"


def test_a_note_that_was_kept_leaves_an_empty_field_that_is_closed(sheet, busy):
    ceiling = busy.tasks["line-ceiling"].pk
    write_a_note(sheet, ceiling)

    sheet.locator(f"#note-{ceiling}").get_by_role("button", name="Keep the note").click()

    expect(sheet.locator("#last")).to_contain_text("Note")
    expect(sheet.locator(f"#note-text-{ceiling}")).to_be_hidden()
    expect(sheet.locator(f"#note-text-{ceiling}")).to_have_value("")


def test_a_photo_chosen_its_place_and_hours_stay_when_somebody_else_changes_the_sheet(sheet, busy):
    ceiling = busy.tasks["line-ceiling"].pk
    with sheet.expect_file_chooser() as camera:
        sheet.locator(f"#photo-{ceiling} > summary").click()
    camera.value.set_files({"name": "a.jpg", "mimeType": "image/jpeg", "buffer": picture(640, 480).read()})
    sheet.locator(f"#behind-{ceiling}").select_option("Roof, rear")
    sheet.get_by_role("button", name="Half an hour more: Line ceiling").click()

    sheet.evaluate("document.activeElement.blur()")
    changed_by_somebody_else(sheet, busy)

    expect(sheet.locator(f"#hours-{ceiling}")).to_have_value("3.5")
    sheet.locator(f"#photo-{ceiling}").get_by_role("button", name="Keep the photo").click()
    expect(sheet.locator("#last")).to_contain_text("Photo")
    assert Photo.objects.filter(task=ceiling, behind="Roof, rear").count() == 1


def test_a_day_that_was_opened_stays_open_and_so_does_where_the_keyboard_is(sheet, busy):
    tomorrow = busy.tasks["tomorrow"].pk
    sheet.locator("#day-1 > summary").click()
    expect(sheet.locator(f"#task-{tomorrow}")).to_be_visible()
    sheet.locator(f"#tick-{tomorrow}").focus()

    changed_by_somebody_else(sheet, busy)

    assert sheet.locator("#day-1").get_attribute("open") is not None
    expect(sheet.locator(f"#tick-{tomorrow}")).to_be_focused()
