"""People, their trades, hours, absences and booked days."""

from __future__ import annotations

from datetime import date, time

import pytest

from builds.actions import people
from builds.actions.checked import edition
from builds.actions.door import Gone, Refused, Stale
from builds.actions.planning import replan
from builds.models import Absence, Journal, Person, PlanRow, Shop, Trade, VisitDay
from tests.cast import NOW


def add(owner, name="Tamsin Reed", **more):
    return people.add_person(name=name, now=NOW, by=owner, **more)


def stale_plan() -> bool:
    return Shop.objects.get(pk=1).plan_is_stale


def planned() -> None:
    Shop.objects.update(planned_revision=Shop.objects.get(pk=1).revision)


def test_a_new_person_has_their_trades_and_the_plan_is_asked_for(shop, owner):
    planned()

    person = add(owner, trades=["joinery", "trim"], competence="")

    assert [t.key for t in person.trades.all()] == ["joinery", "trim"]
    assert stale_plan()
    assert Journal.objects.get().what == "Added Tamsin Reed"


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"name": ""}, "name"),
        ({"name": "x" * 61}, "name"),
        ({"name": "tamsin reed"}, "name"),
        ({"name": "Kit", "trades": ["alchemy"]}, "trades"),
        ({"name": "Kit", "is_visitor": True}, "trades"),
        ({"name": "Kit", "is_visitor": True, "is_apprentice": True, "trades": ["gas"]}, "is_visitor"),
    ],
)
def test_a_person_that_can_not_be_is_refused_at_the_field(shop, owner, fields, field):
    add(owner)

    with pytest.raises(Refused) as refused:
        add(owner, **fields)

    assert refused.value.field == field
    assert Person.objects.count() == 1


def test_a_change_on_an_old_page_is_refused(shop, owner):
    person = add(owner, trades=["joinery"])
    seen = edition(Person.objects.get(), *person.trades.all())
    people.change_person(person=person, fields={"name": "Tamsin Moss"}, now=NOW, by=owner, seen=seen)

    with pytest.raises(Stale):
        people.change_person(person=person, fields={"helps": False}, now=NOW, by=owner, seen=seen)

    assert Person.objects.get().helps


def test_two_people_do_not_sign_in_with_one_name(shop, owner):
    add(owner, user=owner)

    with pytest.raises(Refused) as refused:
        add(owner, name="Kit", user=owner)

    assert refused.value.field == "user"


def test_an_own_week_replaces_the_shops_hours_in_the_plan(shop, owner, joiner, small_build):
    people.set_hours(person=joiner, spans={2: [(time(8), time(14))]}, now=NOW, by=owner)

    replan(now=NOW)

    first = PlanRow.objects.order_by("start").first()
    assert first.start.date() == date(2027, 3, 3)


def test_an_empty_own_week_gives_the_shops_hours_back(shop, owner, joiner):
    people.set_hours(person=joiner, spans={2: [(time(8), time(14))]}, now=NOW, by=owner)

    people.set_hours(person=joiner, spans={}, now=NOW, by=owner)

    assert joiner.hours.count() == 0


def test_an_own_week_with_overlapping_spans_is_refused(shop, owner, joiner):
    with pytest.raises(Refused) as refused:
        people.set_hours(
            person=joiner, spans={1: [(time(8), time(12)), (time(11), time(15))]}, now=NOW, by=owner
        )

    assert refused.value.field == "day-1"


def test_an_absence_moves_the_work_of_the_only_joiner(shop, owner, joiner, small_build):
    people.add_absence(
        person=joiner, first_day=date(2027, 3, 1), last_day=date(2027, 3, 5), now=NOW, by=owner
    )

    replan(now=NOW)

    assert PlanRow.objects.order_by("start").first().start.date() == date(2027, 3, 8)


def test_a_part_day_absence_leaves_the_rest_of_the_day(shop, owner, joiner, small_build):
    people.add_absence(
        person=joiner,
        first_day=date(2027, 3, 1),
        from_time=time(8),
        to_time=time(13),
        reason="dentist",
        now=NOW,
        by=owner,
    )

    replan(now=NOW)

    first = PlanRow.objects.order_by("start").first().start
    assert (first.date(), first.hour) == (date(2027, 3, 1), 13)


def test_the_same_absence_twice_is_one(shop, owner, joiner):
    for _ in range(2):
        people.add_absence(person=joiner, first_day=date(2027, 4, 1), now=NOW, by=owner)

    assert Absence.objects.count() == 1
    assert Journal.objects.count() == 1


@pytest.mark.parametrize(
    ("when", "field"),
    [
        ({"first_day": date(2027, 3, 2), "last_day": date(2027, 3, 1)}, "last_day"),
        ({"first_day": date(2027, 3, 2), "from_time": time(9)}, "to_time"),
        ({"first_day": date(2027, 3, 2), "to_time": time(9)}, "from_time"),
        ({"first_day": date(2027, 3, 2), "from_time": time(9), "to_time": time(9)}, "to_time"),
        ({"first_day": date(9999, 12, 31)}, "first_day"),
        ({"first_day": date(2027, 3, 2), "last_day": date(2031, 3, 2)}, "last_day"),
        ({"first_day": date(2027, 3, 2), "reason": "x" * 81}, "reason"),
    ],
)
def test_an_absence_that_can_not_be_is_refused_at_the_field(shop, owner, joiner, when, field):
    with pytest.raises(Refused) as refused:
        people.add_absence(person=joiner, now=NOW, by=owner, **when)

    assert refused.value.field == field
    assert Absence.objects.count() == 0


def test_an_absence_removed_twice_is_gone_the_second_time(shop, owner, joiner):
    absence = people.add_absence(person=joiner, first_day=date(2027, 4, 1), now=NOW, by=owner)
    people.remove_absence(absence=Absence.objects.get(), now=NOW, by=owner)

    with pytest.raises(Gone):
        people.remove_absence(absence=absence, now=NOW, by=owner)


def test_a_visitor_is_booked_once_a_day(shop, owner):
    gas = add(owner, trades=["gas"], is_visitor=True, competence="on record, no. 114")

    for note in ("", "both vans"):
        people.book_visit(person=gas, date=date(2027, 3, 11), note=note, now=NOW, by=owner)

    assert VisitDay.objects.get().note == "both vans"


def test_a_visit_on_a_closed_day_is_refused(shop, owner):
    gas = add(owner, trades=["gas"], is_visitor=True)

    for day in (date(2027, 3, 29), date(2027, 3, 6)):
        with pytest.raises(Refused):
            people.book_visit(person=gas, date=day, now=NOW, by=owner)

    assert VisitDay.objects.count() == 0


def test_who_works_here_is_not_booked(shop, owner, joiner):
    with pytest.raises(Refused):
        people.book_visit(person=joiner, date=date(2027, 3, 11), now=NOW, by=owner)


def test_a_cancelled_visit_is_gone(shop, owner):
    gas = add(owner, trades=["gas"], is_visitor=True)
    visit = people.book_visit(person=gas, date=date(2027, 3, 11), now=NOW, by=owner)

    people.cancel_visit(visit=visit, now=NOW, by=owner)

    assert VisitDay.objects.count() == 0


def test_who_left_gets_no_work_and_may_come_back(shop, owner, joiner, small_build):
    people.leave(person=joiner, on=date(2027, 2, 26), now=NOW, by=owner)
    replan(now=NOW)
    assert PlanRow.objects.count() == 0

    people.come_back(person=joiner, now=NOW, by=owner)
    replan(now=NOW)
    assert PlanRow.objects.count() == 3


def test_nobody_has_left_on_a_day_to_come(shop, owner, joiner):
    with pytest.raises(Refused):
        people.leave(person=joiner, on=date(2027, 3, 2), now=NOW, by=owner)


def test_the_work_of_somebody_who_left_is_still_planned_for_others(shop, owner, joiner, small_build):
    add(owner, trades=["joinery"])
    task = small_build.tasks.first()
    task.state, task.started_at, task.crew_on_it = "under way", NOW, [joiner.pk]
    task.save()

    people.leave(person=joiner, on=date(2027, 3, 1), now=NOW, by=owner)
    replan(now=NOW)

    assert PlanRow.objects.count() == 3


def test_a_trade_is_added_with_a_key_of_its_name(shop, owner):
    trade = people.add_trade(name="Glass work", licensed=False, now=NOW, by=owner)

    assert (trade.key, Trade.objects.count()) == ("glass_work", 11)


@pytest.mark.parametrize("name", ["", "Joinery", "JOINERY", "x" * 41])
def test_a_trade_without_a_name_of_its_own_is_refused(shop, owner, name):
    with pytest.raises(Refused):
        people.add_trade(name=name, now=NOW, by=owner)


def test_a_name_in_other_letters_gets_a_key_too(shop, owner):
    keys = [people.add_trade(name=name, now=NOW, by=owner).key for name in ("Шитьё", "Стекло")]

    assert keys == ["row", "row_2"]
