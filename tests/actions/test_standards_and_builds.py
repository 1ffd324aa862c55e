"""What the shop changes in its library reaches new builds and rewrites none that exists."""

from __future__ import annotations

import pytest

from builds.actions import standards
from builds.actions.builds import start_build
from builds.actions.composing import take_out
from builds.actions.library import load_standard_library
from builds.models import StandardTask, Task
from tests.actions.test_builds import new


@pytest.fixture
def library(shop, now):
    load_standard_library(now=now)


def keys_of(build) -> set[str]:
    return set(Task.objects.kept().filter(build=build).values_list("key", flat=True))


def withdraw(key: str, now, owner) -> None:
    standards.withdraw_task(task=StandardTask.objects.get(key=key), now=now, by=owner)


def test_a_build_keeps_a_task_that_is_withdrawn_from_the_library(library, owner, now):
    build = start_build(new=new(), now=now, by=owner)

    withdraw("look_over", now, owner)
    take_out(owner=build.units.first(), now=now, by=owner)

    assert "look_over" in keys_of(build)


def test_a_new_build_does_without_a_withdrawn_task(library, owner, now):
    withdraw("look_over", now, owner)

    assert "look_over" not in keys_of(start_build(new=new(), now=now, by=owner))


def test_new_hours_reach_the_next_build_only(library, owner, now):
    build = start_build(new=new(), now=now, by=owner)
    task = StandardTask.objects.get(key="look_over")

    fields = {"hours_low": "3", "hours_likely": "4", "hours_high": "6"}
    standards.change_task(task=task, fields=fields, now=now, by=owner)
    later = start_build(new=new(name="Plover"), now=now, by=owner)

    hours = {t.build_id: t.hours for t in Task.objects.filter(key="look_over")}
    assert (hours[build.pk], hours[later.pk]) == (2, 4)
