"""Ten tablets of the demo workshop that come back into the network together, each with a day's queue."""

from __future__ import annotations

import io
import statistics
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from random import Random

from django.db import connection
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from builds.actions import tablets
from builds.demo.fill import fill_demo, today_at
from builds.management.measuring.figures import Figure
from builds.management.measuring.machine import Machine
from builds.management.measuring.pages import own_database
from builds.management.measuring.tablet import Doing, TabletClient
from builds.models import FloorEvent, Person, Task, User
from builds.queries.job_sheet import job_sheet

TABLETS = 10
EACH = 25
PHOTOS = 3


def measure_floor(*, whole: bool = False) -> Iterator[Figure]:
    """How long answers take while ten tablets send at once to the server a shop runs; on the demo's data."""
    with own_database(), tempfile.TemporaryDirectory() as folder:
        fill_demo(today_at(timezone.now()), say=lambda words: None)
        queues = [_queue(n) for n in range(TABLETS)]
        keys = [_paired(n) for n in range(TABLETS)]
        connection.close()
        machine = Machine(Path(folder), plans=True)
        machine.collect_static()
        machine.start()
        try:
            started = time.perf_counter()
            taken, outcomes = _send_all(machine.url, keys, queues)
            whole_s = time.perf_counter() - started
        finally:
            machine.kill()
        wanted = Counter(doing.once for queue in queues for doing in queue)
        rows = FloorEvent.objects.filter(tablet__name__startswith="Measured")
        come = Counter(rows.values_list("uuid", flat=True))
    label = f"{TABLETS} tablets send {EACH} things each"
    kept = sum(outcome in ("kept", "to settle") for outcome in outcomes)
    yield Figure(f"{label}: errors", len(outcomes) - kept, "", 0)
    yield Figure(
        f"{label}: missing or twice", len(set(wanted) ^ set(come)) + len(come) - len(set(come)), "", 0
    )
    yield Figure(f"{label}: median answer", statistics.median(taken), "ms")
    yield Figure(f"{label}: slowest answer", max(taken), "ms", 15_000)
    yield Figure(f"{label}: all sent after", whole_s, "s")


def _apart(wanted: Counter, come: Counter) -> int:
    return (wanted - come).total() + (come - wanted).total()


def _paired(n: int) -> str:
    now = timezone.now()
    _, code = tablets.add_tablet(name=f"Measured {n}", now=now, by=User.objects.order_by("pk").first())
    return tablets.claim_tablet(code=code, now=now)[1]


def _queue(n: int) -> list[Doing]:
    """What somebody did in a day: photos, notes, snags, and the tasks that may be started are ticked."""
    people = list(Person.objects.working().order_by("pk"))
    person = people[n % len(people)]
    found: list[Doing] = []

    def add(verb: str, task: int, photo: bytes | None = None, **typed: str) -> None:
        found.append(Doing(reverse(f"floor:task-{verb}", args=[person.pk, task]), typed, photo))

    ready = [t for t in job_sheet(person.pk, timezone.now()).tasks if t.may_tick and not t.licensed]
    for task in ready if n < len(people) else ():
        add("start", task.pk, found_anyway="yes", without_photos="yes")
        add("tick", task.pk, hours="2", without_photos="yes")
    tasks = list(Task.objects.kept().filter(build__status="agreed").order_by("pk")[n::TABLETS][:EACH])
    for k in range(PHOTOS):
        add("photo", tasks[k].pk, _picture(100 * n + k), behind="left wall")
    for k in range(EACH - len(found)):
        add("note" if k % 2 else "snag", tasks[k % len(tasks)].pk, text=f"Word {k} of tablet {n}")
    return found[:EACH]


def _picture(seed: int) -> bytes:
    """As a tablet sends it: 1600 pixels wide, about 300 KB."""
    noise = Image.frombytes("RGB", (320, 240), Random(seed).randbytes(320 * 240 * 3))
    into = io.BytesIO()
    noise.resize((1600, 1200)).save(into, "JPEG", quality=85)
    return into.getvalue()


def _send_all(url: str, keys: list[str], queues: list[list[Doing]]) -> tuple[list[float], list[str]]:
    """Milliseconds and outcome of every answer; an answer that is none has its error as the outcome."""
    together = threading.Barrier(len(queues))
    taken: list[float] = []
    outcomes: list[str] = []

    def send(key: str, queue: list[Doing]) -> None:
        client = TabletClient(url, key)
        together.wait()
        client.ask()
        for number, doing in enumerate(queue, start=1):
            began = time.perf_counter()
            try:
                outcome = client.send(doing, number, len(queue) - number)["outcome"]
            except (OSError, ValueError, KeyError) as wrong:
                outcome = repr(wrong)
            taken.append((time.perf_counter() - began) * 1000)
            outcomes.append(outcome)

    threads = [threading.Thread(target=send, args=pair) for pair in zip(keys, queues, strict=True)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return taken, outcomes
