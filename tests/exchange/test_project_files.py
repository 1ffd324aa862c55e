import pytest

from builds.engines.planning.projects.project import Activity, ImpossibleProject, Project, least_makespan
from builds.engines.planning.projects.search import shortest
from builds.exchange.problem_files import UnreadableProblem
from builds.exchange.project_files import read_project

TWO_PROJECTS = """2
1
3

2 0
1
4 2 1 1:2
1 1 0

2 5
1
2 3 1 2:2
2 1 0
"""


def test_several_projects_become_one_with_their_releases_and_links(tmp_path):
    path = tmp_path / "two.rcmp"
    path.write_text(TWO_PROJECTS)

    assert read_project(path) == Project(
        (
            Activity(4, (2,)),
            Activity(1, (1,), (0,)),
            Activity(2, (3,), (), release=5),
            Activity(2, (1,), (2,), release=5),
        ),
        (3,),
    )


def test_the_shortest_schedule_of_both_waits_for_the_release(tmp_path):
    path = tmp_path / "two.rcmp"
    path.write_text(TWO_PROJECTS)

    found = shortest(read_project(path), seconds=1, seed=1)

    assert (found.makespan, found.is_proven) == (9, True)


@pytest.mark.parametrize(("name", "text"), [("a.sm", "nothing"), ("a.rcmp", "2 1 3"), ("a.txt", "1")])
def test_a_file_that_is_no_project_is_named(tmp_path, name, text):
    path = tmp_path / name
    path.write_text(text)

    with pytest.raises(UnreadableProblem, match=name):
        read_project(path)


def test_a_project_that_waits_for_itself_or_wants_too_much_is_refused():
    with pytest.raises(ImpossibleProject, match="waits for itself"):
        shortest(Project((Activity(1, (1,), (1,)), Activity(1, (1,), (0,))), (1,)), seconds=1, seed=1)
    with pytest.raises(ImpossibleProject, match="more than there is"):
        shortest(Project((Activity(1, (2,)),), (1,)), seconds=1, seed=1)


def test_no_schedule_beats_the_work_of_a_resource_over_its_capacity():
    project = Project(tuple(Activity(3, (2,)) for _ in range(4)), (3,))

    assert least_makespan(project) == 8
    assert shortest(project, seconds=1, seed=1).makespan == 12
