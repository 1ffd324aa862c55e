"""Cutting problems in files, cut by the command, and the layouts it writes."""

from __future__ import annotations

import json
from collections import Counter

import pytest
from django.core.management import CommandError, call_command

PROBLEM = {
    "name": "shelves",
    "kerf": 3.2,
    "trim": 5,
    "sheets": [
        {"id": "full", "length": 2440, "width": 1220, "count": None, "cost": 62},
        {"id": "rest", "length": 880, "width": 402.5, "count": 1, "cost": 5},
    ],
    "parts": [
        {"id": "door1", "length": 596, "width": 388.5, "count": 1, "grain": "along"},
        {"id": "door2", "length": 410, "width": 388.5, "count": 1, "grain": "along"},
        {"id": "shelf", "length": 452.4, "width": 440, "count": 5, "grain": "any", "label": "shelf"},
        {"id": "long", "length": 2500, "width": 100, "count": 1, "grain": "along"},
    ],
    "runs": [["door1", "door2"]],
}


def cut(tmp_path, problem, **options) -> dict:
    source, out = tmp_path / "problem.json", tmp_path / "layout.json"
    source.write_text(problem if isinstance(problem, str) else json.dumps(problem))
    call_command("cut_problem", str(source), out=str(out), **options)
    return json.loads(out.read_text())


def test_every_part_is_cut_or_named_as_unplaced(tmp_path):
    layout = cut(tmp_path, PROBLEM, seconds=0.2)

    pieces = Counter(piece["part"] for sheet in layout["sheets"] for piece in sheet["pieces"])
    assert pieces == {"door1": 1, "door2": 1, "shelf": 5}
    assert layout["unplaced"] == [{"part": "long", "count": 1}]


def test_half_millimetres_come_back_as_they_were(tmp_path):
    layout = cut(tmp_path, PROBLEM)

    doors = [piece for sheet in layout["sheets"] for piece in sheet["pieces"] if piece["part"] == "door1"]
    assert (doors[0]["length"], doors[0]["width"]) == (596, 388.5)


def test_the_doors_of_a_run_lie_a_kerf_apart(tmp_path):
    layout = cut(tmp_path, PROBLEM)

    one, two = sorted(
        (p for s in layout["sheets"] for p in s["pieces"] if p["part"].startswith("door")),
        key=lambda p: p["part"],
    )
    assert two["x"] - one["x"] - one["length"] == pytest.approx(3.2)
    assert one["y"] == two["y"]


def test_lengths_are_cut_by_the_same_command(tmp_path):
    problem = {"stock_length": 2400, "kerf": 3, "pieces": [{"length": 1180, "count": 4}]}

    assert cut(tmp_path, problem)["lengths"] == [[1180, 1180], [1180, 1180]]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"kerf": -1}, "kerf"),
        ({"kerf": "wide"}, "not a number"),
        ({"trim": 2000}, "no larger than its trims"),
        ({"sheets": []}, "no sheet"),
        ({"parts": [{"id": "a", "length": 0, "width": 5, "count": 1, "grain": "any"}]}, "more than nothing"),
        ({"parts": [{"id": "a", "length": 5.55, "width": 5, "count": 1, "grain": "any"}]}, "finer than"),
        ({"parts": [{"id": "a", "length": 5, "width": 5, "count": 1, "grain": "round"}]}, "grain"),
        ({"parts": [{"id": "a", "length": 5, "width": 5, "count": 1}]}, "missing"),
        ({"parts": [{"id": "a", "length": 5, "width": 5, "count": 1.5, "grain": "any"}]}, "whole number"),
        ({"parts": [{"id": "a", "length": -5, "width": 5, "count": 1, "grain": "any"}]}, "more than nothing"),
        ({"parts": [{"id": "a", "length": 1e9, "width": 5, "count": 1, "grain": "any"}]}, "beyond 100 m"),
        ({"sheets": [{"id": "s", "length": 2440, "width": 1220, "cost": "dear"}]}, "cost is not a number"),
        ({"kerf": 400}, "between 0 and 100 mm"),
        ({"runs": [["nobody"]]}, "unknown part"),
        ({"runs": ["shelf"]}, "a run is a list"),
    ],
)
def test_what_can_not_be_cut_is_said_in_words(tmp_path, change, words):
    with pytest.raises(CommandError, match=words):
        cut(tmp_path, PROBLEM | change)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"stock_length": 0}, "more than nothing"),
        ({"kerf": 400}, "between 0 and 100 mm"),
        ({"pieces": [{"length": 0, "count": 1}]}, "more than nothing"),
        ({"pieces": [{"length": 25, "count": -1}]}, "whole number"),
        ({"pieces": [{"length": 25, "count": 1.5}]}, "whole number"),
        ({"pieces": [{"length": 25, "count": 10**9}]}, "beyond 100,000"),
        ({"pieces": [{"length": 25.55, "count": 1}]}, "finer than"),
    ],
)
def test_lengths_that_can_not_be_cut_are_said_in_words(tmp_path, change, words):
    problem = {"stock_length": 2400, "kerf": 3, "pieces": [{"length": 1180, "count": 4}]}

    with pytest.raises(CommandError, match=words):
        cut(tmp_path, problem | change)


@pytest.mark.parametrize("text", ["", "[]", "{", "null", '{"kerf": NaN}'])
def test_what_is_no_problem_is_refused(tmp_path, text):
    with pytest.raises(CommandError):
        cut(tmp_path, text)


def test_ten_thousand_parts_are_all_cut(tmp_path):
    sizes = [(100 + 7 * n % 900, 100 + 11 * n % 500) for n in range(100)]
    parts = [
        {"id": f"p{n}", "length": w, "width": h, "count": 100, "grain": "any"}
        for n, (w, h) in enumerate(sizes)
    ]

    layout = cut(tmp_path, PROBLEM | {"parts": parts, "runs": []})

    assert sum(len(sheet["pieces"]) for sheet in layout["sheets"]) == 10_000
    assert layout["unplaced"] == []
