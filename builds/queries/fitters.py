"""The people as the planner wants them: trades, own hours, absences and booked days."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.db.models import DateField, IntegerField, QuerySet, TimeField, Value
from django.db.models.functions import Cast

from builds.engines.planning.problem import Fitter
from builds.models import Absence, Person, PersonHours, VisitDay

from .opening import OpeningTimes, minute, span_minutes


@dataclass(frozen=True)
class Somebody:
    """A person at work with the trades they may lead, in the order the shop lists its people."""

    pk: int
    name: str
    fitter: Fitter
    is_visitor: bool

    @property
    def short_name(self) -> str:
        return self.name.split()[0]


@dataclass
class _Times:
    """One person's own hours by weekday, absences as instants, and booked dates."""

    hours: dict[int, list] = field(default_factory=lambda: defaultdict(list))
    away: list[tuple[int, int]] = field(default_factory=list)
    booked: set[date] = field(default_factory=set)


def people_at_work(times: OpeningTimes, today: date) -> tuple[Somebody, ...]:
    """Everybody who has not left, with absences from a week back on; two queries."""
    own = _times_of_people(times, today)
    rows: dict[int, tuple] = {}
    trades: dict[int, set[str]] = defaultdict(set)
    for pk, name, helps, apprentice, visitor, trade in (
        Person.objects.working()
        .order_by("position", "name", "pk")
        .values_list("pk", "name", "helps", "is_apprentice", "is_visitor", "trades__key")
    ):
        rows[pk] = (name, helps, apprentice, visitor)
        if trade and not apprentice:
            trades[pk].add(trade)
    return tuple(
        Somebody(
            pk=pk,
            name=name,
            is_visitor=visitor,
            fitter=_fitter(pk, frozenset(trades[pk]), helps and not visitor, visitor, own.get(pk, _Times())),
        )
        for pk, (name, helps, _, visitor) in rows.items()
    )


def _fitter(pk: int, trades: frozenset[str], helps: bool, is_visitor: bool, own: _Times) -> Fitter:
    hours = {day: span_minutes(sorted(spans)) for day, spans in own.hours.items()} or None
    return Fitter(
        id=str(pk),
        trades=trades,
        helps=helps,
        days=frozenset(hours) if hours else None,
        hours=hours,
        away=tuple(own.away),
        booked=frozenset(own.booked) if own.booked and is_visitor else None,
    )


def _times_of_people(times: OpeningTimes, today: date) -> dict[int, _Times]:
    found: dict[int, _Times] = defaultdict(_Times)
    for person, weekday, first, last, starts, ends in _time_rows(today - timedelta(days=7)):
        if weekday is not None:
            found[person].hours[weekday].append((starts, ends))
        elif last is not None:
            found[person].away += absence_spans(first, last, starts, ends, times)
        else:
            found[person].booked.add(first)
    return found


def _time_rows(since: date) -> QuerySet:
    """Own hours, absences and booked days as one list: a page that needs them all asks once."""
    no_weekday = Cast(Value(None), IntegerField())
    no_day, no_time = Cast(Value(None), DateField()), Cast(Value(None), TimeField())
    columns = ("person_id", "a", "b", "c", "d", "e")
    hours = PersonHours.objects.order_by().annotate(
        a=Cast("weekday", IntegerField()),
        b=no_day,
        c=no_day,
        d=Cast("starts", TimeField()),
        e=Cast("ends", TimeField()),
    )
    absences = (
        Absence.objects.order_by()
        .filter(last_day__gte=since)
        .annotate(
            a=no_weekday,
            b=Cast("first_day", DateField()),
            c=Cast("last_day", DateField()),
            d=Cast("from_time", TimeField()),
            e=Cast("to_time", TimeField()),
        )
    )
    visits = VisitDay.objects.order_by().annotate(
        a=no_weekday, b=Cast("date", DateField()), c=no_day, d=no_time, e=no_time
    )
    return hours.values_list(*columns).union(
        absences.values_list(*columns), visits.values_list(*columns), all=True
    )


def absence_spans(first: date, last: date, from_time, to_time, times: OpeningTimes) -> list[tuple[int, int]]:
    """An absence as (from, to) instants: whole days in one piece, part days one by one."""
    if from_time is None:
        return [(minute(times.start_of(first)), minute(times.start_of(last + timedelta(days=1))))]
    return [
        (
            minute(datetime.combine(day, from_time, tzinfo=times.zone)),
            minute(datetime.combine(day, to_time, tzinfo=times.zone)),
        )
        for day in (first + timedelta(days=n) for n in range((last - first).days + 1))
    ]
