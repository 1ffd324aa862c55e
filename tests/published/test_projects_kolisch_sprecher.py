"""Two published projects of thirty activities, four resources: the proven shortest makespan is met.

Source: R. Kolisch and A. Sprecher, "PSPLIB - a project scheduling problem library", European Journal of
Operational Research 96 (1997), 205-216, instances j301_1 and j3029_1 (copied unchanged into
tests/data/projects); optima 43 and 85 as published with the library. Exact.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from builds.engines.planning.projects.project import Project, Schedule
from builds.engines.planning.projects.search import shortest
from builds.exchange.project_files import read_project

FILES = Path(__file__).parent.parent / "data" / "projects"


def breaks_nothing(project: Project, schedule: Schedule) -> bool:
    """Links and capacities, checked period by period."""
    starts, activities = schedule.starts, project.activities
    for n, activity in enumerate(activities):
        if any(starts[n] < starts[p] + activities[p].length for p in activity.after):
            return False
    for period in range(schedule.makespan):
        on = [a for s, a in zip(starts, activities, strict=True) if s <= period < s + a.length]
        if any(sum(a.uses[k] for a in on) > limit for k, limit in enumerate(project.capacities)):
            return False
    return schedule.makespan == max(s + a.length for s, a in zip(starts, activities, strict=True))


@pytest.mark.parametrize(("name", "optimum"), [("j301_1", 43), ("j3029_1", 85)])
def test_the_published_optimum_is_met_and_proven(name, optimum):
    project = read_project(FILES / f"{name}.sm")

    found = shortest(project, seconds=20, seed=1)

    assert (found.makespan, found.is_proven) == (optimum, True)
    assert breaks_nothing(project, found)
