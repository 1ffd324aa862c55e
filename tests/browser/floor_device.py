"""A tablet on the floor as the proofs use it: its own browser profile on disk, and hands that press."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from random import Random

from django.utils import timezone
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, Page, expect

from builds.models import FloorEvent, Person, Task

from .conftest import FLAGS

SENT_WITHIN_MS = 60_000
UNTIL_KEPT = """async (paths) => {
  const isKept = (path) => caches.match(path, { ignoreVary: true }).then(Boolean);
  for (let tries = 0; tries < 200; tries += 1) {
    if ((await Promise.all(paths.map(isKept))).every(Boolean)) return true;
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
  return false;
}"""
UNTIL_SAID = """async ([words, withinMs]) => {
  const until = Date.now() + withinMs;
  while (document.getElementById("queue-state").textContent !== words) {
    if (Date.now() > until) return false;
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
  return true;
}"""
ONLINE = "() => void window.dispatchEvent(new Event('online'))"
SAID = {"half": "half a day left", "wet": "not yet dry", "cut": "sheet cut"}
"""What the shop calls it, where that is another word."""


@dataclass
class Device:
    """`address` is what it calls the shop by; `script` runs in every page before the page's own.

    With a `profile`, a folder, its browser can be closed and opened again; else it is one more of `browser`.
    """

    browser: Browser
    address: str
    profile: Path | None = None
    script: str = ""
    done: list[tuple[str, str, str]] = field(default_factory=list)
    """What was pressed so far, as (person, verb, task)."""
    pressed_at: list[datetime] = field(default_factory=list)
    """When each of them was pressed, by a good clock."""

    context: BrowserContext = field(init=False)
    page: Page = field(init=False)

    def open(self, path: str = "/floor/") -> Page:
        look = {"viewport": {"width": 820, "height": 1180}, "locale": "en-GB"}
        if self.profile is None:
            self.context = self.browser.new_context(**look)
        else:
            starts = {"executable_path": "/usr/bin/chromium", "args": FLAGS}
            launched = self.browser.browser_type.launch_persistent_context
            self.context = launched(self.profile, **starts, **look)
        if self.script:
            self.context.add_init_script(self.script)
        self.page = self.context.pages[0] if self.context.pages else self.context.new_page()
        self.page.goto(self.address + path)
        return self.page

    def another_tab(self) -> Device:
        """The same tablet, with another page in front."""
        other = Device(self.browser, self.address, done=self.done, pressed_at=self.pressed_at)
        other.context, other.page = self.context, self.context.new_page()
        return other

    def close(self) -> None:
        self.context.close()

    def pair(self, code: str) -> None:
        self.page.goto(f"{self.address}/floor/pair/")
        self.page.get_by_label("Code on the owner’s screen").fill(code)
        self.page.get_by_role("button", name="Pair this tablet").click()
        expect(self.page.get_by_role("heading", name="Who are you?")).to_be_visible()

    def keep_pages(self, *people: Person) -> None:
        """Waits until the pages of these are kept on the tablet."""
        self.page.goto(f"{self.address}/floor/")
        paths = ["/floor/", *(f"/floor/{person.pk}/" for person in people)]
        assert self.page.evaluate(UNTIL_KEPT, paths), "the pages are not kept"

    def tap(self, person: Person) -> None:
        self.page.goto(f"{self.address}/floor/")
        self.page.get_by_role("link", name=person.name).click()
        expect(self.page.get_by_role("heading", level=1)).to_have_text(person.name)

    def press(self, verb: str, task: Task, typed: str = "") -> None:
        """Does one thing to a task on the sheet that is open, and waits until it is kept or sent."""
        waiting = self.waiting()
        getattr(self, f"_{verb}")(task.pk, typed)
        who = self.page.get_by_role("heading", level=1).inner_text()
        self.done.append((who, SAID.get(verb, verb), task.key))
        self.pressed_at.append(timezone.now())
        self.says(f"{waiting + 1} waiting to be sent")

    def waiting(self) -> int:
        """How many wait, once the page has looked."""
        state = self.page.locator("#queue-state")
        expect(state).to_have_attribute("data-waiting", re.compile(r"\d+"))
        return int(state.get_attribute("data-waiting"))

    def says(self, words: str, within_ms: int = 30_000) -> None:
        if not self.page.evaluate(UNTIL_SAID, [words, within_ms]):
            expect(self.page.locator("#queue-state")).to_have_text(words)

    def notices_network(self) -> None:
        """The tablet's system says that there is network."""
        self.page.evaluate(ONLINE)

    def _start(self, pk: int, typed: str) -> None:
        self.page.locator(f"#start-{pk}").click()

    def _tick(self, pk: int, typed: str) -> None:
        self.page.locator(f"#hours-{pk}").fill(typed)
        self.page.locator(f"#tick-{pk}").click()

    def _half(self, pk: int, typed: str) -> None:
        self._more("half-day", pk, lambda form: form.get_by_role("button", name=f"{typed} h").click())

    def _wet(self, pk: int, typed: str) -> None:
        wait = Task.objects.get(pk=pk).links_in.get().pk
        self._more("not-yet", wait, lambda form: form.get_by_role("button", name=f"{typed} h").click())

    def _cut(self, pk: int, typed: str) -> None:
        self.page.locator(f"#task-{pk} [id^=cut-hours-]").first.fill(typed)
        self.page.locator(f"#task-{pk} button[id^=cut-]").first.click()

    def _undo(self, pk: int, typed: str) -> None:
        self.page.locator("#undo-last").click()

    def _stop(self, pk: int, typed: str) -> None:
        self._more("stop", pk, lambda form: form.get_by_role("button", name=typed).click())

    def _note(self, pk: int, typed: str) -> None:
        self._write("note", pk, typed)

    def _snag(self, pk: int, typed: str) -> None:
        self._write("snag", pk, typed)

    def _photo(self, pk: int, typed: str) -> None:
        def take(form):
            photo = {"name": "shot.jpg", "mimeType": "image/jpeg", "buffer": photo_bytes(pk)}
            form.locator("input[type=file]").set_input_files(photo)
            form.locator("[name=behind_typed]").fill(typed)
            form.get_by_role("button", name="Keep the photo").click()

        self._more("photo", pk, take)

    def _write(self, verb: str, pk: int, typed: str) -> None:
        def write(form):
            form.locator("textarea").fill(typed)
            form.locator("button").click()

        self._more(verb, pk, write)

    def _more(self, verb: str, pk: int, act: Callable) -> None:
        more = self.page.locator(f"#{verb}-{pk}")
        if more.get_attribute("open") is None:
            more.locator("summary").click()
        act(more.locator("form"))


def photo_bytes(seed: int) -> bytes:
    """A large picture that JPEG can't make small, as a camera gives it."""
    picture = Image.frombytes("RGB", (300, 225), Random(seed).randbytes(300 * 225 * 3)).resize((2400, 1800))
    into = io.BytesIO()
    picture.save(into, "JPEG", quality=90)
    return into.getvalue()


def from_tablets():
    return FloorEvent.objects.exclude(tablet=None)


def arrived() -> list[tuple[str, str, str]]:
    """What the shop has on record, in its order, as (person, verb, task)."""
    events = from_tablets().select_related("person", "task")
    return [(e.person.name, e.verb, e.task.key) for e in events]
