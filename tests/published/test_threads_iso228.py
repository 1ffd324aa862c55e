"""Pipe threads of gas and water fittings.

Source: ISO 228-1, major diameter and threads an inch as quoted by a secondary copy; minor diameter =
major - 1.280654 x 25.4 / threads an inch. G 1/2: 20.955 - 1.280654 x 25.4 / 14 = 18.63 mm; tolerance
0.002 mm. Minor diameters of the other sizes were computed apart from the program by the same rule.
"""

from __future__ import annotations

import pytest

from builds.engines.material.threads import BY_KEY, THREADS, mismatch

PIPES = [
    ("g1-8", 9.728, 0.907, 8.566),
    ("g1-4", 13.157, 1.337, 11.445),
    ("g3-8", 16.662, 1.337, 14.950),
    ("g1-2", 20.955, 1.814, 18.632),
    ("g3-4", 26.441, 1.814, 24.118),
    ("g1", 33.249, 2.309, 30.292),
]


@pytest.mark.parametrize(("key", "major", "pitch", "minor"), PIPES)
def test_a_pipe_thread_has_the_sizes_of_the_standard(key, major, pitch, minor):
    thread = BY_KEY[key]

    assert thread.major_mm == major
    assert thread.pitch_mm == pytest.approx(pitch, abs=0.001)
    assert thread.minor_mm == pytest.approx(minor, abs=0.002)


def test_threads_of_one_size_match():
    assert mismatch(["g1-2", "g1-2"]) == ""


def test_no_two_sizes_match():
    sizes = [thread.key for thread in THREADS]

    assert all(mismatch([a, b]) for a in sizes for b in sizes if a != b)


def test_a_pipe_thread_near_a_metric_one_is_told_apart():
    assert "near enough to start by hand and not to hold" in mismatch(["g1-2", "m20x1.5"])
    assert "near enough" not in mismatch(["g1-2", "g3-8"])
