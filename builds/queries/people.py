"""Who works here, as the owner's pages show it: trades, hours, when away or booked."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, time, timedelta

from builds.models import Absence, OpeningSpan, Person, PersonHours, VisitDay
from builds.models.shop import WEEKDAYS
from builds.queries.opening import span_minutes

BACK_DAYS = 31


@dataclass(frozen=True)
class PersonLine:
    """One person in the list. `minutes` are those of an ordinary week, None for visitors."""

    pk: int
    name: str
    trades: tuple[str, ...]
    is_apprentice: bool
    helps: bool
    minutes: int | None
    own_hours: bool
    away: Away | None
    next_visit: date | None
    has_pin: bool
    lacks: str
    left_on: date | None


@dataclass(frozen=True)
class Away:
    """An absence. `now`: it has begun. Without times, whole days."""

    pk: int
    first: date
    last: date
    from_time: time | None
    to_time: time | None
    reason: str
    now: bool
    past: bool


@dataclass(frozen=True)
class Visit:
    pk: int
    date: date
    note: str
    past: bool


@dataclass(frozen=True)
class PeopleList:
    working: tuple[PersonLine, ...]
    visiting: tuple[PersonLine, ...]
    left: tuple[PersonLine, ...]


@dataclass(frozen=True)
class PersonPage:
    """What one person's page tells. `week` is each weekday with its stretches in words."""

    line: PersonLine
    week: tuple[tuple[str, str], ...]
    absences: tuple[Away, ...]
    visits: tuple[Visit, ...]


def people_list(today: date) -> PeopleList:
    """Everybody, in three groups; six queries."""
    lines = _lines(Person.objects.prefetch_related("trades"), today)
    return PeopleList(
        working=tuple(line for kind, line in lines if kind == "works"),
        visiting=tuple(line for kind, line in lines if kind == "visits"),
        left=tuple(line for kind, line in lines if kind == "left"),
    )


def person_page(person: Person, today: date) -> PersonPage:
    """One person, with absences and visits from a month ago; nine queries."""
    people = Person.objects.filter(pk=person.pk).prefetch_related("trades")
    (_, line) = _lines(people, today)[0]
    since = today - timedelta(days=BACK_DAYS)
    absences = Absence.objects.filter(person=person, last_day__gte=since)
    visits = VisitDay.objects.filter(person=person, date__gte=since)
    return PersonPage(
        line=line,
        week=_week(person),
        absences=tuple(_away(absence, today) for absence in absences),
        visits=tuple(Visit(v.pk, v.date, v.note, v.date < today) for v in visits),
    )


def _lines(people, today: date) -> list[tuple[str, PersonLine]]:
    found = list(people)
    ids = [person.pk for person in found]
    hours: dict[int, int] = defaultdict(int)
    for pk, *span in PersonHours.objects.filter(person__in=ids).values_list("person_id", "starts", "ends"):
        hours[pk] += _minutes([tuple(span)])
    away: dict[int, Away] = {}
    for absence in Absence.objects.filter(person__in=ids, last_day__gte=today).order_by("first_day", "pk"):
        away.setdefault(absence.person_id, _away(absence, today))
    visits: dict[int, date] = {}
    booked = VisitDay.objects.filter(person__in=ids, date__gte=today).order_by("date")
    for pk, day in booked.values_list("person_id", "date"):
        visits.setdefault(pk, day)
    shop_week = _minutes(OpeningSpan.objects.values_list("opens", "closes"))
    return [(_kind(p), _line(p, hours.get(p.pk), shop_week, away.get(p.pk), visits.get(p.pk))) for p in found]


def _kind(person: Person) -> str:
    if person.left_on is not None:
        return "left"
    return "visits" if person.is_visitor else "works"


def _line(
    person: Person, own: int | None, shop_week: int, away: Away | None, visit: date | None
) -> PersonLine:
    trades = list(person.trades.all())
    return PersonLine(
        pk=person.pk,
        name=person.name,
        trades=tuple(t.name for t in trades),
        is_apprentice=person.is_apprentice,
        helps=person.helps,
        minutes=None if person.is_visitor else own if own is not None else shop_week,
        own_hours=own is not None,
        away=away,
        next_visit=visit,
        has_pin=bool(person.pin_hash),
        lacks=_lacks(person, trades),
        left_on=person.left_on,
    )


def _lacks(person: Person, trades: list) -> str:
    """What is missing before this person can do what their trades say."""
    licensed = [t.name.lower() for t in trades if t.licensed]
    if licensed and not person.competence and not person.is_apprentice:
        return f"no competence on record for {' and '.join(licensed)}"
    if not trades and not person.is_apprentice and not person.helps:
        return "no trade and helps nobody: gets no work"
    return ""


def _minutes(spans: Iterable[tuple[time, time]]) -> int:
    return sum(end - start for start, end in span_minutes(spans))


def _away(absence: Absence, today: date) -> Away:
    return Away(
        absence.pk,
        absence.first_day,
        absence.last_day,
        absence.from_time,
        absence.to_time,
        absence.reason,
        now=absence.first_day <= today <= absence.last_day,
        past=absence.last_day < today,
    )


def _week(person: Person) -> tuple[tuple[str, str], ...]:
    own: dict[int, list[str]] = defaultdict(list)
    for day, starts, ends in person.hours.values_list("weekday", "starts", "ends"):
        own[day].append(f"{starts:%H:%M} to {ends:%H:%M}")
    return tuple((name, ", ".join(own[day])) for day, name in WEEKDAYS if own.get(day))
