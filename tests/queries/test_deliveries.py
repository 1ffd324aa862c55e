"""What is on its way and what is to be decided, late things first."""

from __future__ import annotations

from datetime import date, timedelta

from builds.actions.planning import replan
from builds.models import Decision, Delivery, Supplier
from builds.queries.deliveries import decision_lines, delivery_groups, task_groups
from tests.cast import NOW, make_build

TODAY = date(2027, 3, 1)


def in_days(n: int) -> date:
    return TODAY + timedelta(days=n)


def expected(build, what: str, on: date, **more) -> Delivery:
    return Delivery.objects.create(
        build=build, what=what, expected_on=on, **({"first_expected_on": on} | more)
    )


def test_deliveries_stand_in_the_order_of_what_they_need(small_build):
    expected(small_build, "Lamp", in_days(30))
    expected(small_build, "Roof fan", in_days(-9), arrived_on=in_days(-3), on_shelf_on=in_days(-2))
    expected(small_build, "Hinges", in_days(-2), arrived_on=TODAY)
    expected(small_build, "Worktop", in_days(7))
    expected(small_build, "Fridge", in_days(-3))
    expected(small_build, "Long there", in_days(-40), arrived_on=in_days(-39), on_shelf_on=in_days(-39))

    groups = [(group.key, [line.what for line in group.lines]) for group in delivery_groups(TODAY)]

    assert groups == [
        ("late", ["Fridge"]),
        ("soon", ["Worktop"]),
        ("later", ["Lamp"]),
        ("here", ["Hinges"]),
        ("shelf", ["Roof fan"]),
    ]


def test_a_line_tells_how_late_what_waits_and_what_was_said_first(small_build):
    yard = Supplier.objects.create(name="Sallow")
    fridge = expected(
        small_build, "Fridge", in_days(-3), supplier=yard, quantity=2, first_expected_on=in_days(-10)
    )
    fridge.tasks.set(small_build.tasks.all()[:2])
    replan(now=NOW)

    line = delivery_groups(TODAY)[0].lines[0]

    assert (line.days_late, line.moved_from, line.source) == (3, in_days(-10), "Sallow")
    assert line.tasks == ("Cut parts", "Glue up")
    assert line.first_start == date(2027, 3, 2)


def test_vans_that_are_gone_await_nothing(small_build):
    for status in ("dropped", "handed over"):
        expected(make_build(status.capitalize(), status=status), "Lamp", in_days(3))
    expected(None, "Masking tape", in_days(3))

    assert [line.what for group in delivery_groups(TODAY) for line in group.lines] == ["Masking tape"]


def test_finished_tasks_wait_for_nothing(small_build):
    fridge = expected(small_build, "Fridge", in_days(3))
    fridge.tasks.set(small_build.tasks.all())
    small_build.tasks.filter(key="cut-parts").update(state="done", finished_at=NOW)

    assert delivery_groups(TODAY)[0].lines[0].tasks == ("Glue up", "Fit unit")


def test_questions_stand_longest_overdue_first_and_answers_stay_two_weeks(small_build):
    for what, by, more in (
        ("Worktop", in_days(4), {}),
        ("Colour", in_days(-4), {}),
        ("Tap", in_days(-9), {"decided_on": in_days(-2), "answer": "brass"}),
        ("Lamp", in_days(-60), {"decided_on": in_days(-50), "answer": "warm"}),
    ):
        Decision.objects.create(build=small_build, what=what, needed_by=by, **more)

    waiting, answered = decision_lines(TODAY)

    assert [(line.what, line.days_late) for line in waiting] == [("Colour", 4), ("Worktop", 0)]
    assert [(line.what, line.answer) for line in answered] == [("Tap", "brass")]


def test_only_tasks_not_begun_and_those_chosen_may_wait(small_build):
    cut, glue, fit = small_build.tasks.all()
    for task in (cut, glue):
        task.state, task.started_at, task.finished_at = "done", NOW, NOW
        task.save()

    (group,) = task_groups(small_build, chosen=(glue.pk,))

    assert (group.name, [task.pk for task in group.tasks]) == ("Whole van", [glue.pk, fit.pk])
