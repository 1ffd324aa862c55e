"""On a tablet: a van and a check without network, photos by place in two taps, hours by a tap."""

from __future__ import annotations

import io
from datetime import timedelta

import pytest
from django.utils import timezone
from PIL import Image
from playwright.sync_api import expect

from builds.actions.photos import keep_photo
from builds.models import (
    CheckRecord,
    FiledPaper,
    FloorEvent,
    HoldPoint,
    Installation,
    Photo,
    PlanRow,
    Snag,
    Task,
)
from tests import cast
from tests.actions.test_filing import PDF
from tests.browser.floor_device import UNTIL_KEPT


@pytest.fixture(autouse=True)
def media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


def picture() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (640, 480), "teal").save(out, "JPEG")
    return out.getvalue()


@pytest.fixture
def work(site):
    """One task under way for today on the sheet of Wren Alder, in a van with a snag and a photo."""
    wren = cast.make_person("Wren Alder", "joinery")
    now = timezone.now()
    build = cast.make_build(
        arrives_on=now.date() - timedelta(days=9), promised_on=now.date() + timedelta(days=90)
    )
    task = cast.make_task(build, "line-ceiling", hours=3, state="under way", started_at=now)
    PlanRow.objects.create(task=task, start=now, finish=now + timedelta(hours=3), fitters=[wren.pk])
    Snag.objects.create(build=build, text="Catch does not hold", at=now)
    keep_photo(file=io.BytesIO(picture()), build=build, behind="Roof, front", person=wren, now=now)
    return wren, task


def opened(page, site, path):
    page.goto(f"{site}/floor/")
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.goto(f"{site}/floor/{path}")
    expect(page.locator("#queue-state")).to_have_text("All sent")


def test_what_is_behind_a_panel_is_found_in_two_taps(on_tablet, site, work):
    page, (wren, _) = on_tablet, work
    opened(page, site, f"{wren.pk}/")

    page.locator(".floor-group a.van").first.click()
    page.get_by_text("Roof, front, 1 photo").click()

    expect(page.get_by_alt_text("Roof, front: The work")).to_be_visible()


def test_a_snag_is_put_right_without_network(on_tablet, site, work):
    page, (wren, task) = on_tablet, work
    opened(page, site, f"{wren.pk}/van/{task.build_id}/")
    page.context.set_offline(True)

    page.get_by_role("button", name="Put right").click()
    expect(page.locator("#queue-state")).to_have_text("1 waiting to be sent")
    page.context.set_offline(False)

    expect(page.locator("#queue-state")).to_have_text("All sent", timeout=15_000)
    expect(page.get_by_text("No snags.")).to_be_visible()
    assert Snag.objects.get().put_right_by == wren


def test_a_photo_of_a_check_waits_on_the_tablet_and_the_readings_stay_typed(on_tablet, site, work):
    page, (wren, task) = on_tablet, work
    fields = [{"key": "bar", "label": "Pressure", "kind": "number", "unit": "bar"}]
    check = HoldPoint.objects.create(
        task=task, kind="own", name="Pressure test", fields=fields, photo_wanted=True
    )
    opened(page, site, f"{wren.pk}/check/{check.pk}/")
    page.get_by_label("Pressure").fill("1.6")
    page.context.set_offline(True)

    page.locator("#check-photo").set_input_files(
        {"name": "gauge.jpg", "mimeType": "image/jpeg", "buffer": picture()}
    )
    page.get_by_role("button", name="Keep the photo").click()
    expect(page.locator("#queue-state")).to_have_text("1 waiting to be sent")
    page.context.set_offline(False)

    expect(page.locator("#queue-state")).to_have_text("All sent", timeout=15_000)
    expect(page.locator("#sheet .photos img")).to_have_count(1)
    expect(page.get_by_label("Pressure")).to_have_value("1.6")
    assert Photo.objects.get(hold_point=check).person == wren


def file_offline(page, heater, name: str, kind: str, content: bytes) -> None:
    page.locator(f"#paper-{heater.pk} > summary").click()
    page.locator(f"#serial-{heater.pk}").fill("H-4471")
    page.locator(f"#paper-file-{heater.pk}").set_input_files(
        {"name": name, "mimeType": kind, "buffer": content}
    )
    page.get_by_role("button", name="File it").click()
    expect(page.locator("#queue-state")).to_have_text("1 waiting to be sent")


def test_a_serial_number_and_a_pdf_filed_without_network_arrive_as_they_were(on_tablet, site, work):
    page, (wren, task) = on_tablet, work
    heater = Installation.objects.create(build=task.build, kind="heating", name="Heater")
    opened(page, site, f"{wren.pk}/van/{task.build_id}/")
    page.context.set_offline(True)
    file_offline(page, heater, "papers.pdf", "application/pdf", PDF)

    page.context.set_offline(False)

    expect(page.locator("#queue-state")).to_have_text("All sent", timeout=15_000)
    expect(page.get_by_role("link", name="Paper (PDF)")).to_be_visible()
    paper = FiledPaper.objects.get()
    assert (paper.serial_number, paper.person, paper.file.read()) == ("H-4471", wren, PDF)


def test_a_page_renamed_to_a_paper_comes_back_with_words(on_tablet, site, work):
    page, (wren, task) = on_tablet, work
    heater = Installation.objects.create(build=task.build, kind="heating", name="Heater")
    opened(page, site, f"{wren.pk}/van/{task.build_id}/")
    page.context.set_offline(True)
    file_offline(page, heater, "papers.pdf", "application/pdf", b"<!doctype html><script>alert(1)</script>")

    page.context.set_offline(False)

    expect(page.locator("#queue-state")).to_have_text("1 needs you", timeout=15_000)
    expect(page.locator("#queue-list")).to_contain_text("can't be read as a paper")
    assert not FiledPaper.objects.exists()


def test_hours_are_changed_by_one_tap_before_the_tick(on_tablet, site, work):
    page, (wren, task) = on_tablet, work
    opened(page, site, f"{wren.pk}/")

    page.get_by_role("button", name="Half an hour more: Line ceiling").click()
    page.locator(f"#tick-{task.pk}").click()
    expect(page.locator("#last")).to_contain_text("Ticked: Line ceiling")

    assert Task.objects.get(pk=task.pk).hours_taken == 3.5
    assert FloorEvent.objects.filter(verb="tick").count() == 1


@pytest.fixture
def pressure(work):
    """A check on Wren's sheet; Wren has a PIN."""
    wren, task = work
    wren.set_pin("2468")
    wren.save()
    fields = [
        {"key": "bar", "label": "Pressure", "kind": "number", "unit": "bar"},
        {"key": "dry", "label": "Dry at every joint", "kind": "yes"},
    ]
    return HoldPoint.objects.create(task=task, kind="own", name="Pressure test", fields=fields)


EVERYTHING_KEPT = """async () => {
  const opened = await new Promise((resolve) => {
    const open = (name) => (indexedDB.open(name).onsuccess = (event) => resolve(event.target.result));
    indexedDB.databases().then(([{ name }]) => open(name));
  });
  const rows = [];
  for (const name of opened.objectStoreNames) {
    const asked = opened.transaction(name).objectStore(name).getAll();
    await new Promise((resolve) => (asked.onsuccess = resolve));
    rows.push(...asked.result);
  }
  return JSON.stringify([rows, { ...localStorage }]);
}"""


def sign_without_network(page, wren, check, pin: str, verdict: str = "Pass") -> None:
    paths = [f"/floor/{wren.pk}/", f"/floor/{wren.pk}/check/{check.pk}/"]
    assert page.evaluate(UNTIL_KEPT, paths), "the pages are not kept"
    page.context.set_offline(True)
    page.get_by_label("Pressure").fill("1.6")
    page.get_by_label("Dry at every joint").check()
    page.get_by_label("PIN of Wren Alder").fill(pin)
    page.get_by_role("button", name=verdict, exact=True).click()
    expect(page.locator("#sign-told")).to_contain_text("It counts once the shop has it")


def test_a_check_is_signed_without_network_and_counts_when_the_shop_has_it(on_tablet, site, work, pressure):
    page, (wren, task) = on_tablet, work
    opened(page, site, f"{wren.pk}/check/{pressure.pk}/")

    sign_without_network(page, wren, pressure, "2468")
    page.reload()

    expect(page.locator("#queue-state")).to_have_text("1 waiting to be sent")
    expect(page.get_by_label("Pressure")).to_have_value("1.6")
    expect(page.get_by_label("PIN of Wren Alder")).to_have_value("")
    expect(page.get_by_role("button", name="Pass", exact=True)).to_be_disabled()
    assert "1.6" in page.evaluate(EVERYTHING_KEPT)
    assert "2468" not in page.evaluate(EVERYTHING_KEPT)
    assert not CheckRecord.objects.exists()
    page.context.set_offline(False)

    expect(page.locator("#queue-state")).to_have_text("All sent", timeout=15_000)
    expect(page.get_by_text("Signed before")).to_be_visible()
    expect(page.locator("#readings-kept")).to_be_hidden()
    record = CheckRecord.objects.get()
    assert (record.outcome, record.readings) == ("passed", {"bar": "1.6", "dry": "yes"})
    event = FloorEvent.objects.get(verb="pass")
    assert (event.person, event.outcome, event.device_at is None) == (wren, "kept", False)
    assert Task.objects.get(pk=task.pk).state == "done"


def test_a_wrong_pin_signed_without_network_needs_its_fitter_and_the_readings_stay(
    on_tablet, site, work, pressure
):
    page, (wren, _) = on_tablet, work
    opened(page, site, f"{wren.pk}/check/{pressure.pk}/")
    sign_without_network(page, wren, pressure, "1357")
    page.goto(f"{site}/floor/{wren.pk}/")
    page.context.set_offline(False)

    expect(page.locator("#queue-state")).to_have_text("1 needs you", timeout=15_000)
    page.get_by_role("link", name="Open the check").click()
    expect(page.locator("#sign-told")).to_contain_text("Not signed: That is not the PIN.")
    expect(page.get_by_label("Pressure")).to_have_value("1.6")
    assert not CheckRecord.objects.exists()
    page.get_by_label("PIN of Wren Alder").fill("2468")
    page.get_by_role("button", name="Pass", exact=True).click()

    expect(page).to_have_url(f"{site}/floor/{wren.pk}/")
    assert CheckRecord.objects.get().outcome == "passed"
    refused = FloorEvent.objects.get(verb="pass", outcome="refused")
    assert "sealed_pin" not in refused.payload
    assert refused.payload["reading-bar"] == "1.6"
