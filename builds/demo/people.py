"""The demo's workshop: its hours, its people, who is away and who visits. All of it invented."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from builds.actions import people, shop
from builds.actions.pins import set_pin
from builds.actions.tablets import add_tablet
from builds.demo.sign_ins import DEMO_PIN, DEMO_SIGN_INS
from builds.models import Person, Tablet, User

FITTERS = (
    ("Rowan Ember", ("owner", "vehicle", "joinery"), False),
    ("Wren Alder", ("joinery", "trim", "finishing"), False),
    ("Jory Penn", ("joinery", "finishing", "vehicle"), False),
    ("Sable Quill", ("electrical", "heating", "plumbing"), False),
    ("Tamsin Reed", ("vehicle", "trim", "finishing", "plumbing"), False),
    ("Corin Blythe", ("electrical", "plumbing", "vehicle"), False),
    ("Pip Larch", (), True),
)
VISITORS = (
    ("Osric Vane", "gas", "gas engineer, number 00-demo-17"),
    ("Ines Marlow", "mains", "electrician, number 00-demo-42"),
)


@dataclass(frozen=True)
class Workshop:
    """Who the history is played with."""

    owner: User
    tablet: Tablet
    people: dict[str, Person]


def make_workshop(monday: date, now: datetime) -> Workshop:
    """Sets the shop up as it was on `monday`, the first of the history."""
    name, word, _ = DEMO_SIGN_INS[0]
    owner = User.objects.create_user(name, password=word, first_name="Rowan", last_name="Ember")
    shop.change_shop({"name": "Ember Lane Vans", "country": "GB", "subdivision": "ENG"}, now=now, by=owner)
    day = [(time(8), time(12, 30)), (time(13), time(17))]
    friday = [(time(8), time(12, 30)), (time(13), time(16))]
    shop.set_opening(spans={0: day, 1: day, 2: day, 3: day, 4: friday}, now=now, by=owner)
    found = {}
    for who, trades, is_apprentice in FITTERS:
        user = owner if who == "Rowan Ember" else None
        found[who] = people.add_person(
            name=who, trades=trades, is_apprentice=is_apprentice, user=user, now=now, by=owner
        )
        set_pin(person=found[who], pin=DEMO_PIN, now=now, by=owner)
    for who, trade, competence in VISITORS:
        found[who] = people.add_person(
            name=who, trades=[trade], helps=False, is_visitor=True, competence=competence, now=now, by=owner
        )
    _book_visits(found, monday, now, owner)
    _absences(found, monday, now, owner)
    tablet, _ = add_tablet(name="Bench tablet", now=now, by=owner)
    return Workshop(owner, tablet, found)


def _book_visits(found: dict[str, Person], monday: date, now: datetime, owner: User) -> None:
    """The gas engineer every Thursday of even weeks to come, the electrician every Wednesday of odd ones."""
    for week in range(26):
        who, day = ("Osric Vane", 3) if week % 2 else ("Ines Marlow", 2)
        on = monday + timedelta(days=7 * week + day)
        people.book_visit(person=found[who], date=on, now=now, by=owner)


def _absences(found: dict[str, Person], monday: date, now: datetime, owner: User) -> None:
    def away(who: str, week: int, first: int, last: int, reason: str, **times) -> None:
        start = monday + timedelta(days=7 * week)
        people.add_absence(
            person=found[who],
            first_day=start + timedelta(days=first),
            last_day=start + timedelta(days=last),
            reason=reason,
            now=now,
            by=owner,
            **times,
        )

    away("Jory Penn", 2, 0, 1, "ill")
    away("Tamsin Reed", 6, 0, 4, "holiday")
    away("Sable Quill", 8, 3, 4, "training")
    away("Wren Alder", 5, 2, 2, "dentist", from_time=time(13), to_time=time(17))
    people.set_hours(
        person=found["Pip Larch"],
        spans={day: [(time(8), time(12, 30)), (time(13), time(16))] for day in range(4)},
        now=now,
        by=owner,
    )
