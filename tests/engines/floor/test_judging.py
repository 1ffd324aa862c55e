"""Readings held against limits: arithmetic in words, never a verdict."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from builds.engines.floor.judging import judge

GAS = (
    {"key": "start", "label": "Start", "kind": "number", "unit": "mbar", "least": 150, "basis": "EN 1949"},
    {"key": "end", "label": "End", "kind": "number", "unit": "mbar"},
    {
        "key": "drop", "label": "Dropped", "kind": "difference", "of": ["start", "end"],
        "verb": "dropped", "unit": "mbar", "most": 10, "basis": "EN 1949",
    },
)  # fmt: skip


def test_a_drop_over_the_limit_is_told_with_its_basis():
    judged = judge(GAS, {"start": "160", "end": "148"})

    assert judged.readings["drop"] == "12"
    assert judged.remarks == ("dropped 12 mbar, more than the 10 of the rule (EN 1949)",)


def test_a_drop_on_the_limit_is_within():
    assert judge(GAS, {"start": "160", "end": "150"}).is_within


def test_a_comma_is_read_as_a_point():
    assert judge(GAS, {"start": "150,5", "end": "150"}).readings["drop"] == "0.5"


@pytest.mark.parametrize("typed", ["", "plenty", "nan", "inf", "1e99", "--1"])
def test_what_is_no_reading_is_an_error_at_its_field(typed):
    judged = judge(GAS, {"start": typed, "end": "150"})

    assert list(judged.errors) == ["start"]
    assert "drop" not in judged.readings


def test_volt_drop_is_in_percent_of_the_first_reading():
    fields = (
        {"key": "a", "label": "At the battery", "kind": "number"},
        {"key": "b", "label": "At the far end", "kind": "number"},
        {"key": "v", "label": "Volt drop", "kind": "percent_drop", "of": ["a", "b"], "unit": "%", "most": 3},
    )

    assert judge(fields, {"a": "12.8", "b": "12.4"}).readings["v"] == "3.1"
    assert judge(fields, {"a": "0", "b": "0"}).readings.get("v") is None


def test_a_sum_adds_its_fields():
    fields = (
        {"key": "a", "label": "Front", "kind": "number"},
        {"key": "b", "label": "Rear", "kind": "number"},
        {"key": "s", "label": "Together", "kind": "sum", "of": ["a", "b"], "unit": "kg", "most": 3500},
    )

    assert judge(fields, {"a": "1620", "b": "1910"}).remarks == (
        "Together: 3530 kg, more than the 3500 of the rule",
    )


def test_a_no_where_yes_is_wanted_is_remarked():
    fields = ({"key": "dry", "label": "Dry inside", "kind": "yes", "wanted": True},)

    assert judge(fields, {}).remarks == ("Dry inside: no, where “yes” is wanted",)
    assert judge(fields, {"dry": "yes"}).is_within


def test_every_check_of_the_library_can_be_judged():
    path = Path(__file__).resolve().parents[3] / "builds" / "library" / "hold_points.json"

    for check in json.loads(path.read_text()):
        typed = {f["key"]: (f.get("choices") or ["1"])[0] for f in check["fields"]}
        judged = judge(check["fields"], typed)
        assert judged.errors == {}, check["key"]
        assert all(f.get("basis") for f in check["fields"] if "least" in f or "most" in f), check["key"]
