"""The people: who they are, their trades, when they work, when they are away or booked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, time

from django.db.models import Max, Q

from builds.actions.checked import (
    Span,
    check_day,
    check_edition,
    check_spans,
    day_year,
    free_key,
    fresh,
    put_fields,
)
from builds.actions.door import Refused, note_in_journal, write
from builds.models import Absence, Person, PersonHours, Trade, User, VisitDay
from builds.models.shop import WEEKDAYS
from builds.queries.opening import opening_times

PERSON_FIELDS = ("name", "helps", "is_apprentice", "is_visitor", "competence", "user")
LONGEST_ABSENCE_DAYS = 731


def add_person(
    *,
    name: str,
    trades: Iterable[str] = (),
    helps: bool = True,
    is_apprentice: bool = False,
    is_visitor: bool = False,
    competence: str = "",
    user: User | None = None,
    now: datetime,
    by: User | None,
) -> Person:
    """Adds somebody who works here or visits; `trades` are keys of the trades they may lead.

    Refused for a name that somebody here already has: names are what a tablet shows.
    """
    with write():
        person = Person(position=(Person.objects.aggregate(top=Max("position"))["top"] or 0) + 1)
        fields = {
            "name": name,
            "helps": helps,
            "is_apprentice": is_apprentice,
            "is_visitor": is_visitor,
            "competence": competence,
            "user": user,
        }
        _put_person(person, fields, list(trades))
        note_in_journal(f"Added {person.name}", now=now, by=by)
    return person


def change_person(
    *,
    person: Person,
    fields: Mapping[str, object],
    trades: Iterable[str] | None = None,
    now: datetime,
    by: User | None,
    seen: str | None = None,
) -> Person:
    """Changes a person's fields by name (see PERSON_FIELDS), and their trades where given."""
    with write():
        row = fresh(Person, person)
        check_edition(row.name, seen, row, *row.trades.all())
        _put_person(row, fields, None if trades is None else list(trades))
        note_in_journal(f"Changed {row.name}", now=now, by=by)
    return row


def _put_person(person: Person, fields: Mapping[str, object], trades: list[str] | None) -> None:
    put_fields(person, fields, PERSON_FIELDS)
    if not person.name:
        raise Refused("A person needs a name.", field="name")
    same = Person.objects.working().filter(name__iexact=person.name).exclude(pk=person.pk)
    if person.left_on is None and same.exists():
        raise Refused(f"Somebody here is called {person.name} already.", field="name")
    if person.is_apprentice and person.is_visitor:
        raise Refused("An apprentice is here every day and can't be a visitor too.", field="is_visitor")
    if person.user and Person.objects.filter(user=person.user).exclude(pk=person.pk).exists():
        raise Refused("Somebody else signs in with that name.", field="user")
    found = None if trades is None else _trades(trades)
    if person.is_visitor and not (found if found is not None else person.pk and person.trades.exists()):
        raise Refused("A visitor does their own trade: choose it.", field="trades")
    person.save()
    if found is not None:
        person.trades.set(found)


def _trades(keys: list[str]) -> list[Trade]:
    found = list(Trade.objects.filter(key__in=keys))
    if len(found) != len(set(keys)):
        raise Refused("There is no such trade.", field="trades")
    return found


def set_hours(
    *,
    person: Person,
    spans: Mapping[int, Iterable[Span]],
    now: datetime,
    by: User | None,
    seen: str | None = None,
) -> None:
    """Sets a person's own week: weekday (0 is Monday) to (starts, ends). Empty: the shop's hours."""
    week = check_spans(spans, dict(WEEKDAYS))
    with write():
        row = fresh(Person, person)
        check_edition(f"The week of {row.name}", seen, *row.hours.all())
        row.hours.all().delete()
        PersonHours.objects.bulk_create(
            PersonHours(person=row, weekday=day, starts=starts, ends=ends)
            for day, rows in sorted(week.items())
            for starts, ends in rows
        )
        words = f"Set the week of {row.name}" if week else f"{row.name} works the shop's hours"
        note_in_journal(words, now=now, by=by)


def add_absence(
    *,
    person: Person,
    first_day: date,
    last_day: date | None = None,
    from_time: time | None = None,
    to_time: time | None = None,
    reason: str = "",
    now: datetime,
    by: User | None,
) -> Absence:
    """Says that somebody is away, whole days or between two times on each of the days.

    The same absence twice is one.
    """
    last_day = last_day or first_day
    _check_absence(first_day, last_day, from_time, to_time)
    with write():
        row = fresh(Person, person)
        when = {"first_day": first_day, "last_day": last_day, "from_time": from_time, "to_time": to_time}
        known = Absence.objects.filter(person=row, **when).first()
        if known is not None:
            return known
        absence = Absence(person=row, **when)
        put_fields(absence, {"reason": reason}, ("reason",))
        absence.save()
        note_in_journal(f"{row.name} is away {_absence_words(absence)}", now=now, by=by)
    return absence


def _check_absence(first: date, last: date, from_time: time | None, to_time: time | None) -> None:
    check_day(first, "first_day")
    check_day(last, "last_day")
    if last < first:
        raise Refused("The last day is before the first.", field="last_day")
    if (last - first).days > LONGEST_ABSENCE_DAYS:
        raise Refused("That is more than two years. Look at the dates again.", field="last_day")
    if (from_time is None) != (to_time is None):
        missing = "from_time" if from_time is None else "to_time"
        raise Refused("A part of a day needs both times.", field=missing)
    if from_time is not None and to_time is not None and to_time <= from_time:
        raise Refused("The second time must be later than the first.", field="to_time")


def _absence_words(absence: Absence) -> str:
    days = f"{day_year(absence.first_day)}"
    if absence.last_day != absence.first_day:
        days += f" to {day_year(absence.last_day)}"
    if absence.from_time is None:
        return days
    return f"{days}, {absence.from_time:%H:%M} to {absence.to_time:%H:%M}"


def remove_absence(*, absence: Absence, now: datetime, by: User | None) -> None:
    """Takes an absence back."""
    with write():
        row = fresh(Absence, absence)
        words = f"{row.person.name} is not away after all: {_absence_words(row)}"
        row.delete()
        note_in_journal(words, now=now, by=by)


def book_visit(*, person: Person, date: date, note: str = "", now: datetime, by: User | None) -> VisitDay:
    """Books a visiting tradesperson for a day the shop is open; booking twice changes the note only."""
    check_day(date, "date")
    with write() as shop:
        row = fresh(Person, person)
        if not row.is_visitor:
            raise Refused(f"{row.name} works here and needs no booking.", field="date")
        why = opening_times(shop).why_closed(date)
        if why is not None:
            raise Refused(f"The shop is closed that day{f' ({why})' if why else ''}.", field="date")
        visit = VisitDay.objects.filter(person=row, date=date).first() or VisitDay(person=row, date=date)
        put_fields(visit, {"note": note}, ("note",))
        visit.save()
        note_in_journal(f"Booked {row.name} for {day_year(date)}", now=now, by=by)
    return visit


def cancel_visit(*, visit: VisitDay, now: datetime, by: User | None) -> None:
    """Cancels a booked day."""
    with write():
        row = fresh(VisitDay, visit)
        words = f"Cancelled {row.person.name} for {day_year(row.date)}"
        row.delete()
        note_in_journal(words, now=now, by=by)


def leave(*, person: Person, on: date, now: datetime, by: User | None) -> Person:
    """Says that somebody left; they get no work, and can sign nothing, from now on."""
    with write() as shop:
        today = opening_times(shop).day_of(now)
        check_day(on, "left_on")
        if on > today:
            raise Refused(
                "They still work here until then. Enter the days after as an absence, and this on the day.",
                field="left_on",
            )
        row = fresh(Person, person)
        row.left_on = on
        row.save(update_fields=["left_on"])
        note_in_journal(f"{row.name} left on {day_year(on)}", now=now, by=by)
    return row


def come_back(*, person: Person, now: datetime, by: User | None) -> Person:
    """Takes back that somebody left."""
    with write():
        row = fresh(Person, person)
        if row.left_on is not None:
            row.left_on = None
            _put_person(row, {}, None)
            note_in_journal(f"{row.name} works here again", now=now, by=by)
    return row


def add_trade(*, name: str, key: str = "", licensed: bool = False, now: datetime, by: User | None) -> Trade:
    """Adds a trade. `key` is made from the name where it is not given."""
    with write(plan=False):
        trade = Trade(position=(Trade.objects.aggregate(top=Max("position"))["top"] or 0) + 1)
        fields = {"name": name, "key": key or free_key(Trade, name), "licensed": licensed}
        put_fields(trade, fields, ("name", "key", "licensed"))
        if Trade.objects.filter(Q(key=trade.key) | Q(name__iexact=trade.name)).exists():
            raise Refused("There is a trade of that name.", field="name")
        trade.save()
        note_in_journal(f"Added the trade {trade.name}", now=now, by=by)
    return trade


def change_trade(
    *, trade: Trade, name: str, licensed: bool, now: datetime, by: User | None, seen: str | None = None
) -> Trade:
    """Renames a trade, or says whether it needs a named competent person. Its key stays."""
    with write(plan=False):
        row = fresh(Trade, trade)
        check_edition(row.name, seen, row)
        put_fields(row, {"name": name, "licensed": licensed}, ("name", "licensed"))
        if Trade.objects.filter(name__iexact=row.name).exclude(pk=row.pk).exists():
            raise Refused("There is a trade of that name.", field="name")
        row.save()
        note_in_journal(f"Changed the trade {row.name}", now=now, by=by)
    return row
