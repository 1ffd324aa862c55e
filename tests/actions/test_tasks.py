"""Changing the work of a build: nothing loops, nothing dangles, nothing done is lost."""

from __future__ import annotations

from decimal import Decimal
from uuid import uuid4

import pytest

from builds.actions.door import Gone, Refused, Stale
from builds.actions.network import add_link, change_link, remove_link
from builds.actions.tasks import add_task, change_task, copy_task, merge_tasks, remove_task, split_task
from builds.models import HoldPoint, Link, Task
from tests import cast


@pytest.fixture
def row(small_build):
    """The three tasks of the small build, in order."""
    return list(small_build.tasks.all())


def links() -> set[tuple[str, str, int]]:
    rows = Link.objects.filter(before__removed_at=None, after__removed_at=None)
    return set(rows.values_list("before__name", "after__name", "wait_minutes"))


def test_a_job_nobody_planned_is_added_with_its_links(small_build, row, owner, now):
    task = add_task(
        build=small_build,
        fields={
            "name": "Free the stuck door",
            "trade_id": "vehicle",
            "place_id": "bay",
            "hours": Decimal("1.5"),
        },
        after=[row[0]],
        before=[row[2]],
        unplanned_job=True,
        now=now,
        by=owner,
    )

    assert (task.hours_low, task.hours, task.hours_high) == (Decimal("1.12"), Decimal("1.5"), Decimal("2.25"))
    assert ("Cut parts", "Free the stuck door", 0) in links()
    assert ("Free the stuck door", "Fit unit", 0) in links()


def test_the_same_form_sent_twice_adds_one_task(small_build, owner, now):
    fields = {"name": "Once", "trade_id": "joinery", "place_id": "bench", "hours": Decimal(1)}
    token = uuid4()

    first = add_task(build=small_build, fields=fields, token=token, now=now, by=owner)
    second = add_task(build=small_build, fields=fields, token=token, now=now, by=owner)

    assert first == second


def test_a_loop_is_refused_and_its_path_shown(small_build, row, owner, now):
    with pytest.raises(Refused) as refusal:
        add_link(before=row[2], after=row[0], now=now, by=owner)

    assert "“Fit unit” → “Cut parts” → “Glue up” → “Fit unit”" in refusal.value.words
    assert len(links()) == 2


def test_a_task_added_into_a_loop_leaves_nothing_behind(small_build, row, owner, now):
    fields = {"name": "Knot", "trade_id": "joinery", "place_id": "bench", "hours": Decimal(1)}

    with pytest.raises(Refused, match="loop"):
        add_task(build=small_build, fields=fields, after=[row[2]], before=[row[0]], now=now, by=owner)

    assert not Task.objects.filter(name="Knot").exists()


def test_removing_a_task_lets_its_followers_inherit(small_build, row, owner, now):
    remove_task(task=row[1], now=now, by=owner)

    assert links() == {("Cut parts", "Fit unit", 0)}
    with pytest.raises(Gone):
        remove_task(task=row[1], now=now, by=owner)


def test_work_under_way_is_not_removed(row, owner, now):
    Task.objects.filter(pk=row[0].pk).update(state="under way", started_at=now)

    with pytest.raises(Refused, match="under way"):
        remove_task(task=row[0], now=now, by=owner)


def test_a_gas_check_cannot_be_removed(row, owner, now):
    HoldPoint.objects.create(task=row[1], kind="gas_tightness", name="Gas tightness", may_overrule=False)

    with pytest.raises(Refused, match="always checked"):
        remove_task(task=row[1], now=now, by=owner)


def test_a_split_task_keeps_its_hours_and_waits(row, owner, now):
    second = split_task(task=row[1], first_hours=Decimal(1), now=now, by=owner)

    first = Task.objects.get(pk=row[1].pk)
    assert (first.hours, second.hours) == (Decimal(1), Decimal(2))
    assert links() == {
        ("Cut parts", "Glue up", 0),
        ("Glue up", "Glue up, second part", 0),
        ("Glue up, second part", "Fit unit", 24 * 60),
    }


@pytest.mark.parametrize("hours", ["0", "3", "-1", "2.9"])
def test_a_split_into_nothing_is_refused(row, owner, now, hours):
    with pytest.raises(Refused, match="quarter of an hour"):
        split_task(task=row[1], first_hours=Decimal(hours), now=now, by=owner)


def test_a_copy_stands_beside_the_original_with_all_its_links(row, owner, now):
    copy_task(task=row[1], now=now, by=owner)

    assert ("Cut parts", "Glue up, again", 0) in links()
    assert ("Glue up, again", "Fit unit", 24 * 60) in links()


def test_merged_tasks_add_up_and_keep_the_longest_wait(row, owner, now):
    merged = merge_tasks(tasks=row[:2], name="Cut and glue", now=now, by=owner)

    assert merged.hours == Decimal(7)
    assert links() == {("Cut and glue", "Fit unit", 24 * 60)}
    assert Task.objects.get(pk=row[1].pk).merged_into == merged


def test_a_merge_around_another_task_is_refused(row, owner, now):
    with pytest.raises(Refused, match="loop"):
        merge_tasks(tasks=[row[0], row[2]], now=now, by=owner)

    assert len(links()) == 2


def test_tasks_of_two_builds_are_neither_linked_nor_merged(row, owner, now):
    other = cast.make_task(cast.make_build("Teal"), "elsewhere")

    with pytest.raises(Refused, match="same build"):
        add_link(before=row[0], after=other, now=now, by=owner)
    with pytest.raises(Refused, match="one build"):
        merge_tasks(tasks=[row[0], other], now=now, by=owner)


def test_a_stale_form_is_told_so(row, owner, now):
    change_task(task=row[0], fields={"hours": Decimal(5)}, version=row[0].version, now=now, by=owner)

    with pytest.raises(Stale):
        change_task(task=row[0], fields={"hours": Decimal(6)}, version=row[0].version, now=now, by=owner)

    assert Task.objects.get(pk=row[0].pk).hours == Decimal(5)


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"hours": Decimal("-1")}, "hours"),
        ({"hours": Decimal("900")}, "hours"),
        ({"crew": 0}, "crew"),
        ({"name": " "}, "name"),
        ({"hours_low": Decimal(9), "hours": Decimal(4), "hours_high": Decimal(9)}, "hours_low"),
        ({"name": "x" * 10000}, "name"),
    ],
)
def test_impossible_figures_are_refused_at_their_field(row, owner, now, fields, field):
    with pytest.raises(Refused) as refusal:
        change_task(task=row[0], fields=fields, version=None, now=now, by=owner)

    assert refusal.value.field == field


def test_a_wait_is_changed_and_a_link_removed(row, owner, now):
    link = Link.objects.get(after=row[2])

    change_link(link=link, wait_minutes=90, latest_minutes=None, now=now, by=owner)
    assert ("Glue up", "Fit unit", 90) in links()
    with pytest.raises(Refused, match="latest start"):
        change_link(link=link, wait_minutes=90, latest_minutes=60, now=now, by=owner)
    remove_link(link=link, now=now, by=owner)

    assert links() == {("Cut parts", "Glue up", 0)}
