"""Critical path against Hillier & Lieberman, *Introduction to Operations Research*, the construction project.

The answers (path, length, variance, chance, floats) are from the book; the three-point values and
predecessors are from memory. Exact, but for the chance: four decimals as printed.
"""

import pytest

from builds.engines.planning.network import Activity, critical_path

ACTIVITIES = [
    Activity("A", 1, 2, 3),
    Activity("B", 2, 3.5, 8, ("A",)),
    Activity("C", 6, 9, 18, ("B",)),
    Activity("D", 4, 5.5, 10, ("C",)),
    Activity("E", 1, 4.5, 5, ("C",)),
    Activity("F", 4, 4, 10, ("E",)),
    Activity("G", 5, 6.5, 11, ("D",)),
    Activity("H", 5, 8, 17, ("E", "G")),
    Activity("I", 3, 7.5, 9, ("C",)),
    Activity("J", 3, 9, 9, ("F", "I")),
    Activity("K", 4, 4, 4, ("J",)),
    Activity("L", 1, 5.5, 7, ("J",)),
    Activity("M", 1, 2, 3, ("H",)),
    Activity("N", 5, 5.5, 9, ("K", "L")),
]


def test_the_longest_path_takes_44_weeks_with_variance_9():
    found = critical_path(ACTIVITIES)

    assert "".join(found.path) == "ABCEFJLN"
    assert found.length == pytest.approx(44)
    assert found.variance == pytest.approx(9)


def test_floats_are_those_of_the_book():
    found = critical_path(ACTIVITIES).float_by

    assert {i: round(f, 9) for i, f in found.items() if round(f, 9)} == {
        "D": 4, "G": 4, "H": 4, "M": 4, "I": 2, "K": 1,
    }  # fmt: skip


def test_the_deadline_of_47_weeks_is_met_with_a_chance_of_0_8413():
    assert round(critical_path(ACTIVITIES).chance_by(47), 4) == 0.8413
