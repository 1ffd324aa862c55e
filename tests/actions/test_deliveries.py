"""Deliveries and decisions: what tasks wait for from outside."""

from __future__ import annotations

from datetime import date

import pytest

from builds.actions import decisions, deliveries
from builds.actions.checked import edition
from builds.actions.door import Gone, Refused, Stale
from builds.actions.planning import replan
from builds.models import Decision, Delivery, Journal, PlanRow
from tests.cast import NOW, make_build, make_task


def expect(build, owner, tasks=(), expected_on=date(2027, 3, 10), what="Fridge", **more):
    return deliveries.expect_delivery(
        build=build, what=what, expected_on=expected_on, tasks=tasks, now=NOW, by=owner, **more
    )


def start_of(task) -> date:
    return PlanRow.objects.get(task=task).start.date()


def test_a_task_starts_the_day_after_its_delivery_is_expected(small_build, owner):
    first = small_build.tasks.first()
    expect(small_build, owner, [first])

    replan(now=NOW)

    assert start_of(first) == date(2027, 3, 11)


def test_a_changed_date_moves_the_work_and_the_first_date_stays_on_record(small_build, owner):
    first = small_build.tasks.first()
    delivery = expect(small_build, owner, [first])

    deliveries.change_date(delivery=delivery, expected_on=date(2027, 3, 17), version=1, now=NOW, by=owner)
    replan(now=NOW)

    assert start_of(first) == date(2027, 3, 18)
    assert Delivery.objects.get().first_expected_on == date(2027, 3, 10)
    assert Journal.objects.first().what == "Fridge now comes Wed 17 Mar, not Wed 10 Mar"


def test_what_arrived_holds_nothing_up(small_build, owner):
    first = small_build.tasks.first()
    delivery = expect(small_build, owner, [first])

    deliveries.arrived(delivery=delivery, on=date(2027, 3, 1), now=NOW, by=owner)
    replan(now=NOW)

    assert start_of(first) == date(2027, 3, 1)
    assert Delivery.objects.get().on_shelf_on is None


def test_the_shelf_says_that_it_arrived_too(small_build, owner):
    delivery = expect(small_build, owner)

    deliveries.put_on_shelf(delivery=delivery, now=NOW, by=owner)

    kept = Delivery.objects.get()
    assert (kept.arrived_on, kept.on_shelf_on) == (date(2027, 3, 1), date(2027, 3, 1))


def test_the_wrong_box_is_not_here_after_all(small_build, owner):
    delivery = expect(small_build, owner)
    deliveries.put_on_shelf(delivery=delivery, now=NOW, by=owner)

    deliveries.not_here_after_all(delivery=delivery, now=NOW, by=owner)

    kept = Delivery.objects.get()
    assert (kept.arrived_on, kept.on_shelf_on) == (None, None)


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"what": " "}, "what"),
        ({"what": "x" * 121}, "what"),
        ({"expected_on": date(9999, 1, 1)}, "expected_on"),
        ({"quantity": -2}, "quantity"),
        ({"note": "x" * 10000}, "note"),
    ],
)
def test_a_delivery_that_can_not_be_is_refused_at_the_field(small_build, owner, fields, field):
    with pytest.raises(Refused) as refused:
        expect(small_build, owner, **fields)

    assert refused.value.field == field
    assert Delivery.objects.count() == 0


def test_a_task_of_another_van_does_not_wait_for_it(small_build, owner):
    other = make_task(make_build("Plover"), "cut-parts")

    with pytest.raises(Refused) as refused:
        expect(small_build, owner, [other])

    assert refused.value.field == "tasks"
    assert Delivery.objects.count() == 0


def test_the_very_same_delivery_twice_is_one(small_build, owner):
    tasks = list(small_build.tasks.all()[:1])

    assert expect(small_build, owner, tasks) == expect(small_build, owner, tasks)

    assert Delivery.objects.count() == 1


def test_nothing_arrives_tomorrow(small_build, owner):
    delivery = expect(small_build, owner)

    with pytest.raises(Refused):
        deliveries.arrived(delivery=delivery, on=date(2027, 3, 2), now=NOW, by=owner)


def test_an_old_page_does_not_move_a_delivery(small_build, owner):
    delivery = expect(small_build, owner)
    deliveries.change_date(delivery=delivery, expected_on=date(2027, 3, 12), version=1, now=NOW, by=owner)

    with pytest.raises(Stale):
        deliveries.change_date(delivery=delivery, expected_on=date(2027, 3, 9), version=1, now=NOW, by=owner)

    assert Delivery.objects.get().expected_on == date(2027, 3, 12)


def test_a_cancelled_delivery_is_gone(small_build, owner):
    delivery = expect(small_build, owner)
    deliveries.cancel_delivery(delivery=Delivery.objects.get(), now=NOW, by=owner)

    with pytest.raises(Gone):
        deliveries.arrived(delivery=delivery, now=NOW, by=owner)


def ask(build, owner, tasks=(), needed_by=date(2027, 3, 10), what="Colour of the fronts"):
    return decisions.ask(build=build, what=what, needed_by=needed_by, tasks=tasks, now=NOW, by=owner)


def test_a_task_waits_for_the_answer_and_goes_ahead_with_it(small_build, owner):
    first = small_build.tasks.first()
    decision = ask(small_build, owner, [first])
    replan(now=NOW)
    assert start_of(first) == date(2027, 3, 11)

    decisions.decide(decision=decision, answer="Sage green", now=NOW, by=owner)
    replan(now=NOW)

    assert start_of(first) == date(2027, 3, 1)
    kept = Decision.objects.get()
    assert (kept.answer, kept.decided_on) == ("Sage green", date(2027, 3, 1))


def test_the_same_question_twice_is_one(small_build, owner):
    assert ask(small_build, owner) == ask(small_build, owner)

    assert Decision.objects.count() == 1


def test_an_answer_needs_words(small_build, owner):
    decision = ask(small_build, owner)

    with pytest.raises(Refused) as refused:
        decisions.decide(decision=decision, answer="  ", now=NOW, by=owner)

    assert refused.value.field == "answer"


def test_an_answer_on_an_old_page_is_refused(small_build, owner):
    decision = ask(small_build, owner)
    seen = edition(decision)
    decisions.decide(decision=decision, answer="Oak", now=NOW, by=owner, seen=seen)

    with pytest.raises(Stale):
        decisions.decide(decision=decision, answer="Birch", now=NOW, by=owner, seen=seen)


def test_a_question_may_be_asked_again_but_an_answer_is_not_dropped(small_build, owner):
    decision = ask(small_build, owner)
    decisions.decide(decision=decision, answer="Oak", now=NOW, by=owner)
    with pytest.raises(Refused):
        decisions.drop(decision=decision, now=NOW, by=owner)

    decisions.ask_again(decision=decision, needed_by=date(2027, 3, 20), now=NOW, by=owner)
    assert Decision.objects.get().decided_on is None

    decisions.drop(decision=decision, now=NOW, by=owner)
    assert Decision.objects.count() == 0
