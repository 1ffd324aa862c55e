"""What happened to one build: photos, notes, what the floor did, what the owner decided."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from builds.models import Build, FloorEvent, Journal, Note, Photo

LATEST = 60
VERBS = {
    "start": "started",
    "tick": "ticked off",
    "half a day left": "goes on",
    "stop": "stopped",
    "go on": "goes on with",
    "pass": "passed the check",
    "fail": "failed the check",
    "overrule": "overruled the check",
    "reopen": "opened again",
    "undo": "took back",
    "snag": "found a snag",
    "put right": "put a snag right",
    "settle": "settled what did not agree",
    "hours": "corrected the hours of",
    "dry": "says it is dry",
    "not yet dry": "says it is not dry yet",
    "bulk tick": "ticked as done before",
}


@dataclass(frozen=True, slots=True)
class Happening:
    at: datetime
    who: str
    what: str


@dataclass(frozen=True)
class BuildRecord:
    """The latest happenings, newest first, with the photos and notes of the build."""

    happenings: tuple[Happening, ...]
    photos: tuple[Photo, ...]
    notes: tuple[Note, ...]


def build_record(build: Build) -> BuildRecord:
    """Reads the record of a build; four queries."""
    rows = [*_from_floor(build), *_from_office(build)]
    rows.sort(key=lambda h: h.at, reverse=True)
    notes = Note.objects.filter(build=build).select_related("person", "user", "task").order_by("-at")
    return BuildRecord(
        happenings=tuple(rows[:LATEST]),
        photos=tuple(Photo.objects.filter(build=build).order_by("-taken_at")[:48]),
        notes=tuple(notes[:LATEST]),
    )


def _from_floor(build: Build) -> list[Happening]:
    rows = FloorEvent.objects.filter(build=build, verb__in=VERBS).exclude(outcome="refused")
    values = rows.order_by("-happened_at", "-pk").values_list(
        "happened_at", "verb", "person__name", "user__first_name", "task__name", "payload"
    )
    return [_happening(*row) for row in values[:LATEST]]


def _happening(at, verb, person, user, task, payload) -> Happening:
    more = payload.get("reason") or payload.get("text") or ""
    what = f"{VERBS[verb]} “{task}”" if task else VERBS[verb]
    return Happening(at, person or user or "the office", f"{what}: {more}" if more else what)


def _from_office(build: Build) -> list[Happening]:
    rows = Journal.objects.filter(build=build).values_list("at", "by__first_name", "by__username", "what")
    return [Happening(at, first or user or "Benchweek", what) for at, first, user, what in rows[:LATEST]]
