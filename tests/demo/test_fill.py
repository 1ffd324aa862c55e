"""The demo workshop: coherent and alive on whatever day it is filled, made by actions alone."""

from __future__ import annotations

import ast
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from builds.demo.fill import fill_demo
from builds.models import (
    Absence,
    Build,
    Delivery,
    FiledPaper,
    FloorEvent,
    HoldPoint,
    Offcut,
    Order,
    Person,
    Photo,
    ProgressSheet,
    Receipt,
    Shop,
    StockMovement,
    Task,
    WhatIf,
)
from builds.queries.builds import build_list
from builds.queries.material_totals import material_totals
from builds.queries.orders import order_groups

DEMO = Path(__file__).resolve().parents[2] / "builds" / "demo"


@pytest.mark.django_db
def test_the_demo_is_a_shop_in_the_middle_of_its_work(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    now = datetime(2027, 4, 15, 11, 0, tzinfo=ZoneInfo("Europe/London"))

    fill_demo(now)

    groups = {g.key: g.lines for g in build_list(now, shop=Shop.objects.get())}
    lines = [line for key in ("here", "to come") for line in groups.get(key, ())]
    late = [line.name for line in lines if line.forecast.is_late]
    assert Build.objects.count() == 5
    assert "Teal" in late
    assert len(late) < len(lines)
    assert Person.objects.filter(is_visitor=False, is_apprentice=False).count() >= 5
    assert Absence.objects.filter(last_day__gte=now.date()).exists()
    assert Delivery.objects.filter(expected_on__gt=now.date(), arrived_on=None).exists()
    assert {"passed", "due"} <= set(HoldPoint.objects.values_list("state", flat=True))
    assert Task.objects.filter(state="stopped").exists()
    assert Photo.objects.count() >= 10
    plates = FiledPaper.objects.exclude(serial_number="").exclude(file="")
    assert {paper.installation.kind for paper in plates} >= {"heating", "fridge"}
    assert ProgressSheet.objects.exclude(sent_at=None).count() >= 8
    assert {g.key for g in order_groups(now, shop=Shop.objects.get())} == {"late", "draft", "coming", "done"}
    assert Receipt.objects.filter(damaged__gt=0).exists()
    assert Order.objects.filter(build__name="Plover", state="sent").exists()
    assert {"there", "used", "gone"} == set(Offcut.objects.values_list("state", flat=True))
    assert not Offcut.objects.filter(lies="").exists()
    assert {"counted", "taken", "lost", "came"} <= set(StockMovement.objects.values_list("kind", flat=True))
    assert material_totals(Build.objects.to_plan(), now, with_stock=True).to_order
    first = FloorEvent.objects.exclude(verb="bulk tick").order_by("happened_at").first()
    assert now - first.happened_at > timedelta(days=28)
    assert not FloorEvent.objects.filter(happened_at__gt=now).exists()
    tried = WhatIf.objects.get(is_open=True)
    assert {change["kind"] for change in tried.changes} == {"late", "taken in"}
    assert tried.result["clashes"] == {}


def test_the_demo_writes_by_actions_alone():
    """Apart from its one sign-in, no file of the demo creates, saves, updates or deletes a row."""
    writes = {"create", "bulk_create", "save", "update", "delete", "get_or_create", "update_or_create"}

    found = [
        f"{path.name}:{node.lineno}"
        for path in sorted(DEMO.glob("*.py"))
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Attribute) and node.attr in writes and path.name != "pictures.py"
    ]

    assert found == []
