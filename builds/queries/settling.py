"""What came from the floor and does not agree: for the owner to settle, and how it was settled."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Exists, OuterRef, Q, QuerySet

from builds.models import FloorEvent
from builds.templatetags.words import hours as hours_words
from builds.templatetags.words import moment as moment_words

MOST_OPEN = 40
MOST_SETTLED = 20
SAID = {
    "start": "started it",
    "tick": "ticked it",
    "half a day left": "said it goes on",
    "sheet cut": "ticked a sheet as cut",
    "stop": "stopped it",
    "go on": "went on with it",
    "pass": "passed the check",
    "fail": "failed the check",
    "overrule": "overruled the check",
    "bulk tick": "ticked it as done before",
    "photo": "took a photo",
    "note": "wrote a note",
    "snag": "put a snag on the list",
    "put right": "put a snag right",
    "dry": "said it is dry",
    "not yet dry": "said it is not dry yet",
    "undo": "took something back",
}


@dataclass(frozen=True)
class Disagreement:
    """One line: what came last (`this`), what was there before (`that`, where two disagree), and why.

    `settled` is the owner's last word on it, "" while there is none; `was_refused` tells that it never
    counted.
    """

    event: int
    build: int | None
    task: int | None
    van: str
    work: str
    this: str
    that: str
    why: str
    was_refused: bool
    settled: str


@dataclass(frozen=True)
class Disagreements:
    open: tuple[Disagreement, ...]
    settled: tuple[Disagreement, ...]


def disagreements() -> Disagreements:
    """Everything open, the oldest first, and what was settled last; three queries."""
    words = FloorEvent.objects.filter(about=OuterRef("pk"), verb="settle")
    rows = unagreed().annotate(has_word=Exists(words)).select_related("person", "user", "build", "task")
    still_open = list(rows.filter(has_word=False).order_by("pk")[:MOST_OPEN])
    done = list(rows.filter(has_word=True).order_by("-pk")[:MOST_SETTLED])
    beside = _beside([*still_open, *done])
    return Disagreements(
        tuple(_line(row, beside) for row in still_open), tuple(_line(row, beside) for row in done)
    )


def unagreed() -> QuerySet[FloorEvent]:
    """What was kept for the owner to settle, and what was refused after it had waited on a tablet."""
    return FloorEvent.objects.filter(Q(outcome="to settle") | Q(outcome="refused", device_at__isnull=False))


def unsettled() -> QuerySet[FloorEvent]:
    words = FloorEvent.objects.filter(about=OuterRef("pk"), verb="settle")
    return unagreed().filter(~Exists(words))


@dataclass(frozen=True)
class _Beside:
    """The events that lines refer to, and the owner's words about them, the last one winning."""

    others: dict[int, FloorEvent]
    words: dict[int, FloorEvent]


def _beside(rows: Iterable[FloorEvent]) -> _Beside:
    rows = list(rows)
    over = [row.payload.get("over") for row in rows if row.payload.get("over")]
    found = FloorEvent.objects.filter(Q(pk__in=over) | Q(about__in=rows, verb="settle"))
    found = list(found.select_related("person", "user").order_by("pk"))
    return _Beside(
        {row.pk: row for row in found},
        {row.about_id: row for row in found if row.verb == "settle"},
    )


def _line(row: FloorEvent, beside: _Beside) -> Disagreement:
    other = beside.others.get(row.payload.get("over"))
    word = beside.words.get(row.pk)
    return Disagreement(
        event=row.pk,
        build=row.build_id,
        task=row.task_id,
        van=row.build.name if row.build else "",
        work=row.task.name if row.task else "",
        this=_said(row),
        that=_said(other) if other else "",
        why=row.answer.removesuffix(" The owner settles it."),
        was_refused=row.outcome == "refused",
        settled=f"{_counts(word, row)}, {_who(word)}, {moment_words(word.happened_at)}" if word else "",
    )


def _counts(word: FloorEvent, row: FloorEvent) -> str:
    keep = word.payload.get("keep")
    if not keep:
        return "seen"
    return "the later one counts" if keep == row.pk else "the earlier one counts"


def _said(row: FloorEvent) -> str:
    """Who did what and when, in a few words: "Wren Alder ticked it with 4 h, 14:30"."""
    payload = row.payload
    more = ""
    if row.verb == "tick":
        more = f" with {_hours(payload.get('hours'))}"
    elif row.verb == "half a day left":
        more = f", {_hours(payload.get('hours_left'))} left"
    elif payload.get("reason") or payload.get("text"):
        more = f": {str(payload.get('reason') or payload.get('text'))[:80]}"
    return f"{_who(row)} {SAID.get(row.verb, row.verb)}{more}, {moment_words(row.happened_at)}"


def _hours(typed) -> str:
    try:
        return hours_words(Decimal(str(typed)))
    except ArithmeticError:
        return f"“{str(typed or '')[:20]}” hours"


def _who(row: FloorEvent) -> str:
    return str(row.person or row.user or "Somebody")
