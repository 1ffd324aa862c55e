"""The standard library in the shop: loaded once, edited by the shop, loaded again without harm."""

from __future__ import annotations

import pytest

from builds.actions.library import load_standard_library
from builds.library.reading import standard_work as library_work
from builds.models import (
    BodySize,
    Caution,
    HoldPoint,
    InstallationKind,
    Material,
    Place,
    StandardHoldPoint,
    StandardLink,
    StandardNeed,
    StandardTask,
    Supplier,
    Trade,
    UnitKind,
)
from builds.queries.standard_work import standard_work


def test_the_shop_reads_back_what_the_library_holds(db, now):
    load_standard_library(now=now)

    ours, library = standard_work(), library_work()

    assert ours.tasks == library.tasks
    assert set(ours.links) == set(library.links)
    assert ours.unit_kinds == library.unit_kinds
    assert ours.installations == library.installations


def test_loading_again_adds_nothing_and_keeps_what_was_edited(db, now):
    load_standard_library(now=now)
    StandardTask.objects.filter(key="brief").update(hours_likely=3, hours_high=5)

    added = load_standard_library(now=now)

    assert added == 0
    assert StandardTask.objects.get(key="brief").hours_likely == 3


def test_every_standard_task_names_rows_that_exist(db, now):
    load_standard_library(now=now)
    tasks = StandardTask.objects.all()

    assert {t.trade for t in tasks} <= set(Trade.objects.values_list("key", flat=True))
    assert {t.place for t in tasks} <= set(Place.objects.values_list("key", flat=True))
    checks = set(StandardHoldPoint.objects.values_list("key", flat=True))
    assert {t.hold_point for t in tasks} - {""} <= checks


def test_gas_mains_and_seats_can_never_be_overruled(db, now):
    load_standard_library(now=now)

    kept = set(StandardHoldPoint.objects.filter(may_overrule=False).values_list("key", flat=True))

    assert kept == {"gas_tightness", "gas_final", "mains_test", "seat_fixings"}
    assert not HoldPoint.objects.exists()


@pytest.mark.parametrize(
    "model",
    [BodySize, Caution, InstallationKind, Material, Place, StandardHoldPoint, StandardLink, StandardNeed,
     StandardTask, Supplier, Trade, UnitKind],
)  # fmt: skip
def test_every_row_of_the_library_fits_its_columns(db, now, model):
    """SQLite takes texts of any length, PostgreSQL does not."""
    load_standard_library(now=now)

    too_long = [
        (row.pk, field.name)
        for row in model.objects.all()
        for field in model._meta.concrete_fields
        if field.max_length and len(str(getattr(row, field.attname) or "")) > field.max_length
    ]

    assert model.objects.exists()
    assert too_long == []


def test_every_check_of_the_trade_is_whole(db, now):
    """The dozen of the trade and the handover: fields, units, limits with their basis, caution, a task."""
    load_standard_library(now=now)
    cautions = set(Caution.objects.values_list("key", flat=True))
    carried = set(StandardTask.objects.exclude(hold_point="").values_list("hold_point", flat=True))
    checks = {row.key: row for row in StandardHoldPoint.objects.all()}

    assert set(checks) == {
        "openings_hose", "first_fix_wiring", "water_pressure", "gas_tightness", "heater_test_fire",
        "seat_fixings", "power_up", "mains_test", "pump_cut_out", "gas_final", "drain_down", "weighing",
        "snag_walk", "handover",
    }  # fmt: skip
    assert carried == set(checks)
    for check in checks.values():
        assert check.fields, check.key
        assert check.caution == "" or check.caution in cautions, check.key
        for field in check.fields:
            counts = field["kind"] in ("number", "difference", "percent_drop", "sum")
            assert not counts or "unit" in field, (check.key, field["key"])
            limited = field.get("least", field.get("most", field.get("wanted"))) is not None
            assert not limited or field.get("basis"), (check.key, field["key"])
    assert {c.key for c in checks.values() if c.certificate_due} == {"mains_test", "gas_final"}
    assert {c.licensed_trade for c in checks.values() if c.licensed_trade} == {"gas", "mains"}


def test_the_work_that_closes_up_is_known_and_comes_into_a_build(db, now):
    load_standard_library(now=now)

    closing = set(StandardTask.objects.filter(closes_up=True).values_list("key", flat=True))

    assert closing == {"subfloor", "insulate", "ceiling_fix", "walls_fix", "fit_wet"}
    assert {key for key, task in standard_work().tasks.items() if task.closes_up} == closing
