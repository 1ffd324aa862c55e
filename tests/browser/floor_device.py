"""A tablet on the floor as the proofs use it: its own browser profile on disk, and hands that press."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from PIL import Image
from playwright.sync_api import BrowserContext, Page, Playwright, expect

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


@dataclass
class Device:
    """`address` is what it calls the shop by; `script` runs in every page before the page's own."""

    playwright: Playwright
    profile: Path
    address: str
    script: str = ""
    done: list[tuple[str, str, str]] = field(default_factory=list)
    """What was pressed so far, as (person, verb, task)."""

    context: BrowserContext = field(init=False)
    page: Page = field(init=False)

    def open(self, path: str = "/floor/") -> Page:
        self.context = self.playwright.chromium.launch_persistent_context(
            self.profile,
            executable_path="/usr/bin/chromium",
            args=FLAGS,
            viewport={"width": 820, "height": 1180},
            locale="en-GB",
        )
        if self.script:
            self.context.add_init_script(self.script)
        self.page = self.context.pages[0]
        self.page.goto(self.address + path)
        return self.page

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
        said = {"half": "half a day left"}.get(verb, verb)
        self.done.append((who, said, task.key))
        self.says(f"{waiting + 1} waiting to be sent")

    def waiting(self) -> int:
        state = self.page.locator("#queue-state")
        expect(state).to_have_attribute("data-waiting", re.compile(r"\d+"))
        return int(state.get_attribute("data-waiting"))

    def says(self, words: str, within_ms: int = 10_000) -> None:
        expect(self.page.locator("#queue-state")).to_have_text(words, timeout=within_ms)

    def _start(self, pk: int, typed: str) -> None:
        self.page.locator(f"#start-{pk}").click()

    def _tick(self, pk: int, typed: str) -> None:
        self.page.locator(f"#hours-{pk}").fill(typed)
        self.page.locator(f"#tick-{pk}").click()

    def _half(self, pk: int, typed: str) -> None:
        self._more("half-day", pk, lambda form: form.get_by_role("button", name=f"{typed} h").click())

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
    picture = Image.frombytes("RGB", (600, 450), Random(seed).randbytes(600 * 450 * 3)).resize((2400, 1800))
    into = io.BytesIO()
    picture.save(into, "JPEG", quality=90)
    return into.getvalue()


def arrived() -> list[tuple[str, str, str]]:
    """What the shop has on record, in its order, as (person, verb, task)."""
    events = FloorEvent.objects.select_related("person", "task")
    return [(e.person.name, e.verb, e.task.key) for e in events]
