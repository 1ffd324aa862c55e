"""What happened to one build: photos, notes, what the floor did, what the owner decided."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from builds.models import Build, FloorEvent, Journal, Note
from builds.queries.evidence import FittedLine, PlaceInVan, fitted, photos_by_place

LATEST = 60
VERBS = {
    "start": "started",
    "tick": "ticked off",
    "half a day left": "goes on",
    "sheet cut": "cut a sheet for",
    "stop": "stopped",
    "go on": "goes on with",
    "pass": "passed the check",
    "fail": "failed the check",
    "overrule": "overruled the check",
    "reopen": "opened again",
    "undo": "took back",
    "snag": "found a snag",
    "put right": "put a snag right",
    "paper": "filed",
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
    """The latest happenings, newest first, with the build's photos by place, its papers and notes."""

    happenings: tuple[Happening, ...]
    places: tuple[PlaceInVan, ...]
    fitted: tuple[FittedLine, ...]
    notes: tuple[Note, ...]

    @property
    def filed(self) -> tuple[FittedLine, ...]:
        return tuple(line for line in self.fitted if line.papers)

    @property
    def not_filed(self) -> tuple[str, ...]:
        return tuple(line.name for line in self.fitted if not line.papers)


def build_record(build: Build) -> BuildRecord:
    """Reads the record of a build; six queries."""
    rows = [*_from_floor(build), *_from_office(build)]
    rows.sort(key=lambda h: h.at, reverse=True)
    notes = Note.objects.filter(build=build).select_related("person", "user", "task").order_by("-at")
    return BuildRecord(
        happenings=tuple(rows[:LATEST]),
        places=photos_by_place(build),
        fitted=fitted(build),
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
