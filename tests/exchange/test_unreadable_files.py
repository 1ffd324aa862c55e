"""Files of problems and projects that can't be read: a line that says what is wrong and where."""

from __future__ import annotations

import json

import pytest

from builds.exchange.problem_files import UnreadableProblem, read_problem, read_told
from builds.exchange.project_files import read_project


def words_of(read, path) -> str:
    with pytest.raises(UnreadableProblem) as caught:
        read(path)
    return str(caught.value)


def test_a_file_that_is_not_there_is_told(tmp_path):
    for read, name in ((read_problem, "x.json"), (read_told, "x.json"), (read_project, "x.sm")):
        assert words_of(read, tmp_path / name).endswith("it can't be read: No such file or directory")


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "it is no JSON: Expecting value in line 1, column 1"),
        ('{\n"open": }', "it is no JSON: Expecting value in line 2, column 9"),
        ("{}", "“open” is missing or not known"),
        (json.dumps({"open": {"someday": []}}), "“someday” is missing or not known"),
        (json.dumps({"open": {}, "closed": ["soon"]}), "Invalid isoformat string: 'soon'"),
    ],
)
def test_a_shop_that_is_none_is_told_in_words(text, why, tmp_path):
    path = tmp_path / "shop.json"
    path.write_text(text)

    assert words_of(read_problem, path) == f"{path}: {why}"


@pytest.mark.parametrize("name", ["cut.sm", "cut.rcmp"])
def test_a_project_that_breaks_off_is_told(name, tmp_path):
    path = tmp_path / name
    path.write_text("")

    assert words_of(read_project, path) == f"{path}: it ends too soon"
