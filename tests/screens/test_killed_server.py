"""The server is killed while three tablets send: what it answered for is there, and nothing is there twice.

A kill is SIGKILL to the server and all its workers; it proves nothing about a power cut.
"""

from __future__ import annotations

import io
import threading
import time
from random import Random

import pytest
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from builds.actions import tablets
from builds.actions.floor_events import state_of
from builds.management.measuring.machine import Machine
from builds.management.measuring.tablet import Doing, TabletClient
from builds.models import FloorEvent, Note, Photo, Snag, Tablet, Task
from tests import cast

pytestmark = [pytest.mark.prove, pytest.mark.django_db(transaction=True)]

SEED = 20_261_126
TABLETS, DOINGS, KILLS = 3, 500, 20


@pytest.fixture
def machine(tmp_path, settings):
    settings.MEDIA_ROOT = tmp_path / "media"
    found = Machine(tmp_path)
    found.collect_static()
    yield found
    found.kill()


@pytest.fixture
def queues(shop):
    """What waits on each tablet: starts, ticks, stops, notes, snags, photos of its own person."""
    chance, build = Random(SEED), cast.make_build()
    found = []
    for n in range(TABLETS):
        person = cast.make_person(f"Hand {n}", "joinery")
        tasks = [cast.make_task(build, f"task-{n}-{k}") for k in range(30)]
        count = DOINGS // TABLETS + (n < DOINGS % TABLETS)
        found.append([_doing(chance, person.pk, chance.choice(tasks).pk, f"{n}-{k}") for k in range(count)])
    return found


def _doing(chance: Random, person: int, task: int, word: str) -> Doing:
    verb = chance.choice(("start", "tick", "stop", "note", "note", "snag", "photo", "half-day"))
    typed = {
        "tick": {"hours": "1"},
        "stop": {"reason": "place is taken"},
        "half-day": {"hours_left": "2"},
        "note": {"text": f"note {word}"},
        "snag": {"text": f"snag {word}"},
        "photo": {"behind_typed": f"photo {word}"},
    }
    photo = _picture(chance) if verb == "photo" else None
    return Doing(reverse(f"floor:task-{verb}", args=[person, task]), typed.get(verb, {}), photo)


def _picture(chance: Random) -> bytes:
    into = io.BytesIO()
    Image.frombytes("RGB", (320, 240), chance.randbytes(320 * 240 * 3)).save(into, "JPEG")
    return into.getvalue()


class Flood:
    """Sends every queue in its order, and again whatever was not answered, until all is."""

    def __init__(self, url: str, keys: list[str], queues: list[list[Doing]]) -> None:
        self.answered: list[str] = []
        self.unanswered = 0
        pairs = zip(keys, queues, strict=True)
        self.threads = [threading.Thread(target=self._send, args=(url, *pair), daemon=True) for pair in pairs]
        for thread in self.threads:
            thread.start()

    @property
    def is_going_on(self) -> bool:
        return any(thread.is_alive() for thread in self.threads)

    def _send(self, url: str, key: str, queue: list[Doing]) -> None:
        client = TabletClient(url, key)
        for number, doing in enumerate(queue, start=1):
            while not self._was_answered(client, doing, number):
                self.unanswered += 1
                time.sleep(0.05)
            self.answered.append(str(doing.once))

    def _was_answered(self, client: TabletClient, doing: Doing, number: int) -> bool:
        try:
            client.ask()
            return bool(client.send(doing, number)["outcome"])
        except (OSError, ValueError):
            return False


def kept() -> list[str]:
    return [str(uuid) for uuid in FloorEvent.objects.order_by("pk").values_list("uuid", flat=True)]


def test_what_was_answered_is_there_after_twenty_kills_and_nothing_is_there_twice(machine, queues, capsys):
    owner, now, chance = cast.make_owner(), timezone.now(), Random(SEED)
    codes = [tablets.add_tablet(name=f"Tablet {n}", now=now, by=owner)[1] for n in range(TABLETS)]
    keys = [tablets.claim_tablet(code=code, now=now)[1] for code in codes]
    machine.start()
    flood = Flood(machine.url, keys, queues)
    lost = 0
    for kill in range(KILLS):
        wanted = (kill * (DOINGS - 20)) // KILLS + chance.randrange(12)
        while len(flood.answered) < wanted:
            assert flood.is_going_on
            time.sleep(0.001)
        time.sleep(chance.uniform(0, 0.06))
        assert flood.is_going_on
        machine.kill()
        answered = list(flood.answered)
        there = set(kept())
        assert set(answered) <= there
        lost += len(there - set(flood.answered))
        machine.start()
    for thread in flood.threads:
        thread.join(timeout=120)

    everything = [doing for queue in queues for doing in queue]
    assert len(everything) == DOINGS == len(flood.answered)
    assert sorted(kept()) == sorted(str(doing.once) for doing in everything)
    for tablet, queue in zip(Tablet.objects.order_by("pk"), queues, strict=True):
        mine = FloorEvent.objects.filter(tablet=tablet).order_by("pk")
        assert [e.uuid for e in mine] == [doing.once for doing in queue]
        assert [e.sequence for e in mine] == list(range(1, len(queue) + 1))
    _assert_each_made_one_thing(everything)
    for task in Task.objects.all():
        assert {name: getattr(task, name) for name in state_of(task)} == state_of(task)
    with capsys.disabled():
        tries = f"{flood.unanswered} tries without an answer, {lost} of them done all the same"
        print(f"\n{KILLS} kills during {DOINGS} doings of {TABLETS} tablets: {tries}")


def _assert_each_made_one_thing(everything: list[Doing]) -> None:
    """As many notes, snags and photos as were sent, less what was refused; every photo's files are whole."""
    refused = {e.uuid for e in FloorEvent.objects.filter(outcome="refused")}
    done = [doing for doing in everything if doing.once not in refused]
    for model, field, typed in (
        (Note, "text", "text"),
        (Snag, "text", "text"),
        (Photo, "behind", "behind_typed"),
    ):
        word = model.__name__.lower()
        wanted = sorted(d.typed[typed] for d in done if d.path.endswith(f"/{word}/"))
        assert sorted(model.objects.values_list(field, flat=True)) == wanted
        assert len(wanted) > 20
    for photo in Photo.objects.all():
        for file in (photo.file, photo.thumb):
            Image.open(file).load()
