"""What a label's code opens on a tablet: the unit's work and parts."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from builds.actions.builds import NewBuild, start_build
from builds.actions.composing import UnitChoice
from builds.actions.library import load_standard_library
from builds.actions.photos import keep_photo
from builds.models import Person, PlanRow, Unit
from tests import cast
from tests.actions.test_photos import picture
from tests.screens.test_access import pair


@pytest.fixture
def kitchen(shop):
    cast.make_person("Wren Alder", "joinery")
    unit = cast.make_unit(cast.make_build())
    cast.make_task(unit.build, "cut-parts", unit=unit)
    cast.make_part(unit, cast.make_board(), "Side", 880, 500, count=2)
    return unit


def test_the_units_work_parts_and_people_are_there(client, kitchen):
    pair(client)

    shown = client.get(reverse("floor:unit", args=[kitchen.pk])).content.decode()

    assert "Cut parts" in shown
    assert "880 × 500 mm" in shown
    assert "Wren Alder" in shown


def test_a_unit_that_can_be_made_is_drawn_with_its_sizes(client, shop, joiner, owner, now):
    load_standard_library(now=now)
    wardrobe = UnitChoice("wardrobe", "Wardrobe", 500, 550, 1700)
    new = NewBuild(name="Heron", customer_name="The Ashdowns", arrives_on=now.date(), units=(wardrobe,))
    unit = start_build(new=new, now=now, by=owner).units.get()
    pair(client)

    shown = client.get(reverse("floor:unit", args=[unit.pk])).content.decode()

    assert "From the front" in shown
    assert ">1700</text>" in shown
    assert "£" not in shown


def test_the_job_sheet_leads_to_the_unit_in_one_tap(client, kitchen, now):
    pair(client)
    wren, task = Person.objects.get(), kitchen.build.tasks.get()
    PlanRow.objects.create(task=task, start=now, finish=now + timedelta(hours=1), fitters=[wren.pk])

    with time_machine.travel(now, tick=False):
        sheet = client.get(reverse("floor:job-sheet", args=[wren.pk])).content.decode()

    assert f'<a class="floor-unit" href="{reverse("floor:unit", args=[kitchen.pk])}">Kitchen</a>' in sheet


def test_what_is_behind_the_unit_answers_with_its_photos_alone(client, kitchen, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    pair(client)
    task, now = kitchen.build.tasks.get(), timezone.now()
    of_unit = keep_photo(
        file=picture(64, 48), build=kitchen.build, task=task, behind="Left wall, rear", now=now
    )
    other = keep_photo(file=picture(64, 48), build=kitchen.build, behind="Left wall, rear", now=now)

    shown = client.get(reverse("floor:unit", args=[kitchen.pk])).content.decode()

    assert "Left wall, rear, 1 photo" in shown
    assert reverse("floor:photo", args=[of_unit.uuid, "small"]) in shown
    assert str(other.uuid) not in shown


def test_a_unit_taken_out_says_so(client, kitchen):
    pair(client)
    Unit.objects.filter(pk=kitchen.pk).update(removed_at=timezone.now())

    assert "taken out" in client.get(reverse("floor:unit", args=[kitchen.pk])).content.decode()


@pytest.mark.parametrize("status", ["asked", "dropped", "handed over"])
def test_a_unit_of_a_van_not_in_work_is_not_found(client, kitchen, status):
    pair(client)
    type(kitchen.build).objects.update(status=status)

    assert client.get(reverse("floor:unit", args=[kitchen.pk])).status_code == 404


def test_the_page_asks_as_much_for_three_parts_as_for_one(client, kitchen):
    pair(client)
    page = reverse("floor:unit", args=[kitchen.pk])
    with CaptureQueriesContext(connection) as one:
        client.get(page)
    board = kitchen.parts.get().material
    for name in ("Shelf", "Back"):
        cast.make_part(kitchen, board, name, 700, 400)
        cast.make_task(kitchen.build, name.lower(), unit=kitchen)

    with CaptureQueriesContext(connection) as three:
        client.get(page)

    assert len(three) == len(one) <= 12
