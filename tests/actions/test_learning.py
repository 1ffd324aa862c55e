"""The owner takes hours that were taken into the library, or leaves them."""

from __future__ import annotations

from decimal import Decimal

import pytest

from builds.actions.door import Refused, Stale
from builds.actions.learning import leave_hours, take_hours
from builds.actions.tasks import copy_task, merge_tasks, split_task
from builds.models import Build, Journal, StandardTask, Task
from builds.queries.learned_hours import learned_hours
from tests import cast

pytestmark = pytest.mark.django_db


@pytest.fixture
def standard(shop) -> StandardTask:
    return StandardTask.objects.create(
        key="cut", name="Cut the parts", trade="joinery", place="bench", phase="Furniture",
        hours_low=2, hours_likely=3, hours_high=5, scaled=True,
    )  # fmt: skip


@pytest.fixture
def van(shop) -> Build:
    return cast.make_build()


def done(van: Build, *hours: float, share: float = 1, **more) -> list[Task]:
    first = Task.objects.count()
    fields = {
        "standard": "cut", "standard_share": Decimal(str(share)), "state": "done",
        "hours": 3, "hours_high": 5,
    }  # fmt: skip
    return [
        cast.make_task(van, f"cut-{first + n}", hours_taken=Decimal(str(h)), **(fields | more))
        for n, h in enumerate(hours)
    ]


def test_five_cases_over_the_plan_suggest_their_middle(standard, van, now):
    done(van, 4, 4.5, 5, 4, 4.25)

    found = learned_hours()[0]

    assert (found.cases, found.taken[1], found.suggestion[1]) == (5, 4.25, 4.25)


def test_hours_are_held_against_work_of_the_same_size(standard, van):
    done(van, 6, 6, 6, 6, 6, share=2)

    assert learned_hours()[0].taken[1] == pytest.approx(3)
    assert learned_hours()[0].suggestion is None


@pytest.mark.parametrize(
    "fields",
    [{"standard_share": None}, {"crew": 2}, {"state": "under way"}, {"unplanned_job": True}],
    ids=lambda f: next(iter(f)),
)
def test_work_that_is_not_the_standards_teaches_nothing(standard, van, fields):
    done(van, 9, 9, 9, 9, 9, **fields)

    assert learned_hours() == ()


def test_what_was_taken_in_is_used_by_the_library_and_rewrites_no_work(standard, van, now, owner):
    tasks = done(van, 4, 4.5, 5, 4, 4.25)
    open_one = cast.make_task(van, "cut-next", standard="cut", standard_share=1, hours=3)

    take_hours(task=standard, likely=Decimal("4.25"), now=now, by=owner)

    standard.refresh_from_db()
    assert standard.hours_likely == Decimal("4.25")
    assert standard.hours_low <= standard.hours_likely <= standard.hours_high
    assert standard.basis == "this shop's own hours, 5 cases"
    assert {t.hours for t in Task.objects.filter(pk__in=[t.pk for t in (*tasks, open_one)])} == {Decimal(3)}
    assert Journal.objects.filter(what__contains="4¼").exists()


def test_taken_hours_suggest_nothing_more_from_the_same_cases(standard, van, now, owner):
    done(van, 4, 4.5, 5, 4, 4.25)
    take_hours(task=standard, now=now, by=owner)

    assert learned_hours()[0].suggestion is None
    with pytest.raises(Refused, match="any more"):
        take_hours(task=standard, now=now, by=owner)


def test_what_was_left_comes_again_after_three_more_cases(standard, van, now, owner):
    done(van, 4, 4.5, 5, 4, 4.25)
    leave_hours(task=standard, now=now, by=owner)
    assert not learned_hours()[0].is_open

    done(van, 4, 4)
    assert not learned_hours()[0].is_open
    done(van, 4)
    assert learned_hours()[0].is_open


def test_another_suggestion_than_the_one_seen_is_refused(standard, van, now, owner):
    done(van, 4, 4.5, 5, 4, 4.25)

    with pytest.raises(Stale, match="Look again"):
        take_hours(task=standard, likely=Decimal(9), now=now, by=owner)

    standard.refresh_from_db()
    assert standard.hours_likely == 3


def test_parts_of_a_split_task_teach_nothing(standard, van, now, owner):
    one, two, three, four = (
        cast.make_task(van, f"cut-{n}", standard="cut", standard_share=1, hours=3) for n in range(4)
    )
    split_task(task=one, first_hours=Decimal(1), now=now, by=owner)
    copy = copy_task(task=two, now=now, by=owner)
    merge_tasks(tasks=[three, four], now=now, by=owner)

    shares = dict(Task.objects.kept().filter(standard="cut").values_list("pk", "standard_share"))
    assert shares.pop(two.pk) == 1
    assert copy.pk in shares
    assert set(shares.values()) == {None}


def test_the_page_answers_and_asks_twice_only(standard, van, owner_client, django_assert_max_num_queries):
    done(van, 4, 4.5, 5, 4, 4.25)
    with django_assert_max_num_queries(12):
        page = owner_client.get("/shop/library/hours/")
    assert "Use them for Cut the parts" in page.text

    bad = owner_client.post("/shop/library/hours/cut/", {"likely": "x", "answer": "take"}, follow=True)
    assert "That was no answer" in bad.text
    kept = owner_client.post("/shop/library/hours/cut/", {"likely": "4.25", "answer": "take"}, follow=True)
    assert "is planned with the new hours" in kept.text
    again = owner_client.post("/shop/library/hours/cut/", {"likely": "4.25", "answer": "take"}, follow=True)
    assert "any more" in again.text
    assert owner_client.post("/shop/library/hours/none/", {}).status_code == 404


def test_no_name_of_anybody_is_on_the_page(standard, van, joiner, owner_client):
    done(van, 4, 4.5, 5, 4, 4.25)

    assert joiner.name not in owner_client.get("/shop/library/hours/").text
