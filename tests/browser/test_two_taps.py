"""Each action takes two taps or fewer from the job sheet; typing and the camera's own button don't count."""

from __future__ import annotations

import pytest
from playwright.sync_api import Locator, Page, expect

from builds.models import CheckRecord, FiledPaper, FloorEvent, Link, Note, Photo, Snag, Task
from tests.actions.test_photos import picture
from tests.browser.busy_floor import PIN, BusyFloor, make_busy_floor

MOST_TAPS = 2


class Hand:
    """A finger on the tablet that counts how often it taps, and types only where it need not tap first."""

    def __init__(self, page: Page, busy: BusyFloor) -> None:
        self.page = page
        self.busy = busy
        self.taps = 0

    def tap(self, what: Locator | str) -> None:
        self.taps += 1
        (self.page.locator(what) if isinstance(what, str) else what).click()

    def button(self, name: str) -> Locator:
        return self.page.get_by_role("button", name=name, exact=True)

    def task(self, key: str) -> int:
        return self.busy.tasks[key].pk

    def of(self, key: str) -> Locator:
        return self.page.locator(f"#task-{self.task(key)}")

    def sees(self, words: str) -> None:
        """The sheet tells it as the last thing done, in no more taps than are allowed."""
        expect(self.page.locator("#last")).to_contain_text(words)
        assert 1 <= self.taps <= MOST_TAPS


@pytest.fixture
def hand(on_tablet, site, settings, tmp_path) -> Hand:
    settings.MEDIA_ROOT = tmp_path
    busy = make_busy_floor()
    on_tablet.goto(busy.address(site))
    on_tablet.locator("html[data-ready=yes]").wait_for()
    return Hand(on_tablet, busy)


def state_of(hand: Hand, key: str) -> str:
    return Task.objects.get(pk=hand.task(key)).state


def test_a_task_is_ticked(hand):
    hand.tap(f"#tick-{hand.task('line-ceiling')}")

    hand.sees("Ticked: Line ceiling")
    assert hand.taps == 1
    assert state_of(hand, "line-ceiling") == "done"


def test_the_hours_are_changed_and_ticked(hand):
    hand.tap(hand.button("Half an hour less: Line ceiling"))
    hand.tap(f"#tick-{hand.task('line-ceiling')}")

    hand.sees("Ticked: Line ceiling")
    assert Task.objects.get(pk=hand.task("line-ceiling")).hours_taken == 2.5


def test_half_a_day_is_left(hand):
    hand.tap(f"#half-day-{hand.task('line-ceiling')} > summary")
    hand.tap(hand.of("line-ceiling").get_by_role("button", name="4 h", exact=True))

    hand.sees("Half a day left: Line ceiling")


def test_work_is_started(hand):
    hand.tap(f"#start-{hand.task('test-tank')}")

    hand.sees("Started: Test tank")
    assert hand.taps == 1


def test_work_is_stopped_with_its_reason(hand):
    hand.tap(f"#stop-{hand.task('line-ceiling')} > summary")
    hand.tap(hand.of("line-ceiling").get_by_role("button", name="Parts not found"))

    hand.sees("Stopped: Line ceiling")
    assert Task.objects.get(pk=hand.task("line-ceiling")).stop_reason == "parts not found"


def test_stopped_work_goes_on(hand):
    hand.tap(f"#start-{hand.task('fit-rail')}")

    hand.sees("Went on: Fit rail")
    assert hand.taps == 1


def test_a_coat_is_not_dry_yet(hand):
    wait = hand.busy.ids["link"]
    hand.tap(f"#not-yet-{wait} > summary")
    hand.tap(hand.page.locator(f"#not-yet-{wait}").get_by_role("button", name="4 h", exact=True))

    hand.sees("Said not dry yet")
    assert FloorEvent.objects.filter(verb="not yet dry").count() == 1


def test_a_coat_is_dry(hand):
    hand.tap(f"#dry-{hand.busy.ids['link']}")

    hand.sees("Said dry")
    assert Link.objects.get(pk=hand.busy.ids["link"]).before.key == "first-coat"
    assert hand.taps == 1


def test_a_note_is_kept(hand):
    hand.tap(f"#note-{hand.task('line-ceiling')} > summary")
    hand.page.keyboard.type("Felt is short by a metre")
    hand.tap(hand.of("line-ceiling").get_by_role("button", name="Keep the note"))

    hand.sees("Note: Felt is short by a metre")
    assert Note.objects.get().text == "Felt is short by a metre"


def test_a_snag_is_put_on_the_list(hand):
    hand.tap(f"#snag-{hand.task('line-ceiling')} > summary")
    hand.page.keyboard.type("Edge is chipped")
    hand.tap(hand.of("line-ceiling").get_by_role("button", name="Put it on the snag list"))

    hand.sees("Snag: Edge is chipped")
    assert Snag.objects.filter(text="Edge is chipped", task=hand.task("line-ceiling")).count() == 1


def test_a_photo_is_kept(hand):
    with hand.page.expect_file_chooser() as camera:
        hand.tap(f"#photo-{hand.task('line-ceiling')} > summary")
    camera.value.set_files({"name": "a.jpg", "mimeType": "image/jpeg", "buffer": picture(640, 480).read()})
    hand.tap(hand.of("line-ceiling").get_by_role("button", name="Keep the photo"))

    hand.sees("Photo")
    assert Photo.objects.filter(task=hand.task("line-ceiling")).count() == 1


def test_a_photo_before_closing_up_is_asked_for_and_kept(hand):
    with hand.page.expect_file_chooser() as camera:
        hand.tap(f"#photo-file-{hand.task('close-wall')}")
    camera.value.set_files({"name": "a.jpg", "mimeType": "image/jpeg", "buffer": picture(640, 480).read()})
    hand.tap(hand.of("close-wall").get_by_role("button", name="Keep the photo"))

    hand.sees("Photo")
    expect(hand.of("close-wall").get_by_role("button", name="Start Close wall")).to_be_visible()


def test_a_serial_number_is_filed(hand):
    hand.tap(f"#file-{hand.task('fit-heater')} > summary")
    hand.page.keyboard.type("H-5512")
    hand.tap(hand.of("fit-heater").get_by_role("button", name="File it"))

    hand.sees("Filed: Serial number, H-5512")
    assert FiledPaper.objects.get(serial_number="H-5512").installation.name == "Heater"


def test_a_check_is_opened_and_signed(hand):
    hand.tap(f"#check-{hand.task('test-tank')}")
    hand.page.get_by_label("Pressure").fill("1.8")
    hand.page.get_by_label("Dry at every joint").check()
    hand.page.get_by_label("None").check()
    hand.page.get_by_label("PIN of Wren Alder").fill(PIN)
    hand.page.get_by_label("Reference of the certificate").fill("T-118")
    hand.tap(hand.button("Pass"))

    hand.sees("Passed: Test tank")
    assert CheckRecord.objects.get().certificate == "T-118"


def test_a_sheet_is_cut(hand):
    hand.tap(f"#cut-{hand.busy.ids['cut_sheet']}")

    hand.sees("Cut a sheet: Cut parts")
    assert hand.taps == 1


def test_a_delivery_that_was_said_to_be_missing_is_found(hand):
    hand.tap(hand.button("I have it all: start Fit hob"))

    hand.sees("Started: Fit hob")
    assert FloorEvent.objects.get(verb="start").payload["missing"] == ["Hob"]


def test_the_last_thing_is_taken_back(hand):
    hand.page.locator(f"#tick-{hand.task('line-ceiling')}").click()
    expect(hand.page.locator("#last")).to_contain_text("Ticked: Line ceiling")

    hand.tap("#undo-last")

    expect(hand.page.locator("#undo-last")).to_have_count(0)
    assert hand.taps == 1
    assert state_of(hand, "line-ceiling") != "done"


def test_a_fold_opened_by_a_tap_closes_by_a_tap_and_the_camera_stays_shut(hand):
    fold = hand.page.locator(f"#photo-{hand.task('line-ceiling')}")
    with hand.page.expect_file_chooser():
        hand.tap(fold.locator("summary"))

    hand.tap(fold.locator("summary"))

    assert fold.get_attribute("open") is None
