import json
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from builds.engines.planning.planner import plan_shop
from builds.exchange.problem_files import UnreadableProblem, plan_as_data, read_problem, read_told
from tests.engines.planning.referee import faults

SMALL = Path(__file__).parents[1] / "data" / "small_shop.json"


def test_the_small_shop_is_planned_by_the_rules():
    problem = read_problem(SMALL)

    assert faults(problem, plan_shop(problem)) == []


def test_what_cannot_be_planned_is_written_with_its_reason():
    problem = read_problem(SMALL)
    rows = plan_as_data(problem, plan_shop(problem))["unplanned"]

    assert rows == [
        {"id": "v2:trim", "why": "nobody has the trade"},
        {"id": "v2:cover", "why": "it follows v2:trim, which is not planned"},
        {"id": "v2:odd", "why": "its working time is not a whole number of slots"},
    ]


def test_the_command_writes_a_plan_that_can_be_read_as_told(tmp_path):
    out = tmp_path / "plan.json"
    call_command("plan_problem", str(SMALL), out=str(out))

    plan = plan_shop(read_problem(SMALL))
    assert read_told(out) == {p.task: (p.start, p.fitters) for p in plan.planned}
    assert json.loads(out.read_text())["order"] == list(plan.order)


@pytest.mark.parametrize("text", ["", "[]", '{"open": 3}', '{"tasks": []}'])
def test_a_file_that_is_no_problem_is_named(tmp_path, text):
    path = tmp_path / "broken.json"
    path.write_text(text)

    with pytest.raises(UnreadableProblem) as wrong:
        read_problem(path)
    assert wrong.value.where == str(path)
    with pytest.raises(CommandError, match=r"broken\.json"):
        call_command("plan_problem", str(path), out=str(tmp_path / "plan.json"))


def test_the_command_keeps_a_told_plan_and_says_what_it_disturbs(tmp_path, capsys):
    told, out = tmp_path / "told.json", tmp_path / "plan.json"
    call_command("plan_problem", str(SMALL), out=str(told))

    call_command("plan_problem", str(SMALL), out=str(out), told=str(told), seconds=0.5)

    assert "0.0% of" in capsys.readouterr().out
    assert read_told(out) == read_told(told)
