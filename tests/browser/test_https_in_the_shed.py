"""The whole way in a real browser: https of the shop's own, trusted once, keeps work without network.

Chromium trusts what lies in its user's own store of certificates, as after the steps on a tablet.
"""

from __future__ import annotations

import os
import signal
import ssl
import subprocess
import sys
import time
import urllib.request
from datetime import timedelta
from pathlib import Path

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from builds.actions import tablets
from builds.management.measuring.machine import ROOT, database_url, free_port
from builds.models import FloorEvent, PlanRow
from tests import cast

from .conftest import FLAGS
from .floor_device import SENT_WITHIN_MS, Device

NAME = "shed.local"
OFF = "Work without network is off here"


class Shed:
    """Benchweek as `serve_lan` starts it, on the database of the tests."""

    def __init__(self, var: Path) -> None:
        self.var, self.port, self.trust_port = var, free_port(), free_port()
        self.authority = var / "lan" / "authority.pem"
        line = [sys.executable, "manage.py", "serve_lan", "--name", NAME]
        line += ["--port", str(self.port), "--trust-port", str(self.trust_port)]
        more = {"BENCHWEEK_VAR": str(var), "DATABASE_URL": database_url(), "BENCHWEEK_DEMO": "no"}
        self.run = subprocess.Popen(
            line,
            cwd=ROOT,
            env={**os.environ, **more},
            stdout=subprocess.PIPE,
            text=True,
            start_new_session=True,
        )
        self._until_it_answers()

    @property
    def url(self) -> str:
        return f"https://{NAME}:{self.port}"

    def stop(self) -> None:
        os.killpg(self.run.pid, signal.SIGTERM)
        self.run.wait(timeout=40)

    def _until_it_answers(self) -> None:
        end = time.monotonic() + 60
        while True:
            assert self.run.poll() is None, "it did not start"
            assert time.monotonic() < end, "it does not answer"
            time.sleep(0.1)
            try:
                known = ssl.create_default_context(cafile=str(self.authority))
                with urllib.request.urlopen(f"https://127.0.0.1:{self.port}/hello/", context=known) as answer:
                    assert answer.status == 200
                    return
            except OSError:
                continue


@pytest.fixture
def shed(in_the_shop, tmp_path):
    found = Shed(tmp_path / "var")
    yield found
    found.stop()


def trusting_home(folder: Path, authority: Path) -> Path:
    """A home whose store of certificates holds the authority."""
    store = folder / ".pki" / "nssdb"
    store.mkdir(parents=True)
    base = ["certutil", "-d", f"sql:{store}"]
    subprocess.run([*base, "-N", "--empty-password"], check=True)
    subprocess.run([*base, "-A", "-t", "C,,", "-n", "benchweek", "-i", str(authority)], check=True)
    return folder


@pytest.fixture
def launch(playwright):
    """Starts browsers that know the shed's name, each with a home of its own."""
    opened = []

    def launch(home: Path):
        home.mkdir(parents=True, exist_ok=True)
        browser = playwright.chromium.launch(
            executable_path="/usr/bin/chromium",
            args=[*FLAGS, f"--host-resolver-rules=MAP {NAME} 127.0.0.1"],
            env={**os.environ, "HOME": str(home)},
        )
        opened.append(browser)
        return browser

    yield launch
    for browser in opened:
        browser.close()


@pytest.fixture
def work(in_the_shop):
    wren = cast.make_person("Wren Alder", "joinery")
    now = timezone.now()
    build = cast.make_build(
        arrives_on=now.date() - timedelta(days=9), promised_on=now.date() + timedelta(days=90)
    )
    task = cast.make_task(build, "line-ceiling", hours=3)
    PlanRow.objects.create(task=task, start=now, finish=now + timedelta(hours=3), fitters=[wren.pk])
    return wren, task


def test_a_tablet_that_trusts_the_shed_works_without_network(shed, work, launch, tmp_path):
    wren, task = work
    browser = launch(trusting_home(tmp_path / "home", shed.authority))
    device = Device(browser, shed.url)
    device.open()
    code = tablets.add_tablet(name="Bench", now=timezone.now(), by=cast.make_owner())[1]
    device.pair(code)
    expect(device.page.get_by_text(OFF)).to_have_count(0)
    device.keep_pages(wren)

    device.context.set_offline(True)
    device.tap(wren)
    device.press("start", task)
    device.page.reload()
    device.says("1 waiting to be sent")
    device.context.set_offline(False)
    device.says("All sent", SENT_WITHIN_MS)

    event = FloorEvent.objects.get(verb="start")
    assert (event.person, event.outcome, event.device_at is None) == (wren, "kept", False)
    cookies = {cookie["name"]: cookie["secure"] for cookie in device.context.cookies()}
    assert cookies["csrftoken"]
    device.close()


def test_a_tablet_that_does_not_trust_it_gets_the_steps_by_plain_http_and_no_page_by_https(
    shed, launch, tmp_path
):
    browser = launch(tmp_path / "bare")

    with pytest.raises(Exception, match="ERR_CERT_AUTHORITY_INVALID"):
        browser.new_page().goto(f"{shed.url}/floor/")
    page = browser.new_page()
    page.goto(f"http://{NAME}:{shed.trust_port}/")

    expect(page.get_by_role("heading", name="iPad")).to_be_visible()
    expect(page.get_by_role("link", name=shed.url)).to_be_visible()
    with page.expect_download() as got:
        page.get_by_role("link", name="Get the certificate").click()
    assert Path(got.value.path()).read_bytes() == shed.authority.read_bytes()


def test_plain_http_on_the_network_says_loudly_that_work_without_network_is_off(
    site, work, launch, tmp_path, settings
):
    settings.ALLOWED_HOSTS = ["*"]
    page = launch(tmp_path / "bare").new_page()
    page.goto(site.replace("127.0.0.1", NAME).replace("localhost", NAME) + "/floor/pair/")

    expect(page.get_by_role("alert").filter(has_text=OFF)).to_be_visible()
    assert page.evaluate("isSecureContext") is False
    assert page.evaluate("navigator.serviceWorker === undefined")
