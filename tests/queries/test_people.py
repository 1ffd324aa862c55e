"""Who works here, as the owner's pages tell it."""

from __future__ import annotations

from datetime import date, time

from builds.queries.people import people_list, person_page
from tests.cast import make_person

TODAY = date(2027, 3, 1)


def test_people_stand_in_three_groups(shop):
    make_person("Wren", "joinery")
    make_person("Ivo", "gas", is_visitor=True)
    make_person("Old Hand", "trim", left_on=date(2027, 1, 8))

    people = people_list(TODAY)

    groups = [[line.name for line in group] for group in (people.working, people.visiting, people.left)]
    assert groups == [["Wren"], ["Ivo"], ["Old Hand"]]


def test_hours_are_the_shops_unless_a_person_has_their_own(shop):
    make_person("Wren", "joinery")
    kit = make_person("Kit", "trim")
    kit.hours.create(weekday=0, starts=time(8), ends=time(12, 30))
    kit.hours.create(weekday=2, starts=time(13), ends=time(17))

    minutes = {line.name: (line.minutes, line.own_hours) for line in people_list(TODAY).working}

    assert minutes == {"Wren": (5 * 510, False), "Kit": (270 + 240, True)}


def test_the_absence_that_counts_is_the_first_not_over(shop):
    wren = make_person("Wren", "joinery")
    for first, last in (
        ((2027, 2, 1), (2027, 2, 5)),
        ((2027, 2, 27), (2027, 3, 2)),
        ((2027, 4, 1), (2027, 4, 2)),
    ):
        wren.absences.create(first_day=date(*first), last_day=date(*last))

    away = people_list(TODAY).working[0].away

    assert (away.first, away.now) == (date(2027, 2, 27), True)


def test_licensed_work_without_competence_on_record_is_named(shop):
    make_person("Sol", "gas", "mains")
    make_person("Ivo", "gas", competence="on record, no. 114")
    make_person("Kit", "gas", is_apprentice=True)

    lacks = {line.name: line.lacks for line in people_list(TODAY).working}

    assert lacks["Sol"] in (
        "no competence on record for gas and mains",
        "no competence on record for mains and gas",
    )
    assert (lacks["Ivo"], lacks["Kit"]) == ("", "")


def test_a_persons_page_tells_their_week_absences_and_visits(shop):
    ivo = make_person("Ivo", "gas", is_visitor=True)
    ivo.hours.create(weekday=3, starts=time(9), ends=time(12))
    ivo.hours.create(weekday=3, starts=time(13), ends=time(16))
    ivo.visit_days.create(date=date(2027, 3, 11), note="both vans")
    ivo.visit_days.create(date=date(2027, 2, 11))
    ivo.visit_days.create(date=date(2026, 2, 11))

    page = person_page(ivo, TODAY)

    assert page.week == (("Thursday", "09:00 to 12:00, 13:00 to 16:00"),)
    assert [(v.date, v.past) for v in page.visits] == [(date(2027, 2, 11), True), (date(2027, 3, 11), False)]
    assert page.line.next_visit == date(2027, 3, 11)
