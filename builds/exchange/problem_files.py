"""Shop problems and plans as JSON files, in the format of the shared planning problems.

Times in a file are plain clock readings without a zone. Nothing here needs a database.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from builds.engines.planning.calendar import instant, midnight, reading
from builds.engines.planning.plan import Plan, Unplanned
from builds.engines.planning.problem import (
    Fitter,
    Link,
    NotBefore,
    Opening,
    Place,
    Problem,
    Spans,
    Task,
    Van,
)

WEEKDAYS = {"mon": 0, "tue": 1, "wed": 2, "thu": 3, "fri": 4, "sat": 5, "sun": 6}


class UnreadableProblem(ValueError):
    """A file that is not a shop problem or a plan; `where` names it."""

    def __init__(self, where: str, why: str) -> None:
        super().__init__(f"{where}: {why}")
        self.where = where


def why_unreadable(wrong: Exception) -> str:
    """What is wrong with a file, in words, by what reading it ended with."""
    if isinstance(wrong, OSError):
        return f"it can't be read: {wrong.strerror or wrong}"
    if isinstance(wrong, json.JSONDecodeError):
        return f"it is no JSON: {wrong.msg} in line {wrong.lineno}, column {wrong.colno}"
    if isinstance(wrong, KeyError):
        return f"“{wrong.args[0]}” is missing or not known"
    if isinstance(wrong, IndexError | StopIteration):
        return "it ends too soon"
    return str(wrong)


def read_problem(path: str | Path) -> Problem:
    """The problem in a JSON file. Raises `UnreadableProblem` when it can't be read as one."""
    try:
        return problem_from(json.loads(Path(path).read_text()))
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as wrong:
        raise UnreadableProblem(str(path), why_unreadable(wrong)) from wrong


def problem_from(data: Mapping[str, Any]) -> Problem:
    """The problem in decoded JSON."""
    opening = Opening(
        week={WEEKDAYS[d]: _spans(spans) for d, spans in data["open"].items()},
        closed=frozenset(date.fromisoformat(d) for d in data.get("closed", [])),
        slot_minutes=data["slot_minutes"],
    )
    return Problem(
        opening=opening,
        places=_places(data["places"]),
        fitters=tuple(_fitter(f) for f in data["fitters"]),
        vans=tuple(_van(v) for v in data["vans"]),
        tasks=tuple(_task(t, opening.slot_minutes) for t in data["tasks"]),
        now=_instant(data["now"]),
        bays=data["places"]["bay"],
    )


def plan_as_data(problem: Problem, plan: Plan) -> dict[str, Any]:
    """A plan as JSON-ready rows: `tasks` with their reason, `unplanned` with why, and the `order`."""
    zone = problem.opening.zone
    return {
        "tasks": [
            {
                "id": p.task,
                "start": reading(p.start, zone).isoformat(),
                "finish": reading(p.finish, zone).isoformat(),
                "fitters": list(p.fitters),
                "because": {k: v for k, v in _reason_parts(p.reason).items() if v is not None},
            }
            for p in plan.planned
        ],
        "unplanned": [{"id": u.task, "why": _why(problem, u)} for u in plan.unplanned],
        "order": list(plan.order),
    }


def write_plan(path: str | Path, problem: Problem, plan: Plan) -> None:
    """Write a plan as JSON."""
    Path(path).write_text(json.dumps(plan_as_data(problem, plan), indent=0) + "\n")


def read_told(path: str | Path) -> dict[str, tuple[int, tuple[str, ...]]]:
    """What a written plan told: start instant and crew by task. Raises `UnreadableProblem`."""
    try:
        rows = json.loads(Path(path).read_text())["tasks"]
        return {r["id"]: (_instant(r["start"]), tuple(r["fitters"])) for r in rows}
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as wrong:
        raise UnreadableProblem(str(path), why_unreadable(wrong)) from wrong


def _instant(text: str) -> int:
    return instant(datetime.fromisoformat(text), None)


def _minute(text: str) -> int:
    clock = time.fromisoformat(text)
    return clock.hour * 60 + clock.minute


def _spans(spans: list[list[str]]) -> Spans:
    return tuple((_minute(a), _minute(b)) for a, b in spans)


def _places(holds: Mapping[str, int]) -> dict[str, Place]:
    places = {
        "inside": Place(
            "inside", holds["inside"], "people", per_van=True, holds_bay=True, position="in the bay"
        ),
        "underneath": Place("underneath", holds_bay=True, position="raised"),
    }
    for key, room in holds.items():
        if key not in ("bay", "inside", "underneath"):
            places[key] = Place(key, room)
    return places


def _fitter(data: Mapping[str, Any]) -> Fitter:
    away = [
        (midnight(date.fromisoformat(a), None), midnight(date.fromisoformat(b) + timedelta(days=1), None))
        for a, b in data.get("absent", [])
    ]
    days = frozenset(WEEKDAYS[d] for d in data["days"]) if "days" in data else None
    return Fitter(
        data["id"], frozenset(data["trades"]), helps=data.get("helps", True), days=days, away=tuple(away)
    )


def _van(data: Mapping[str, Any]) -> Van:
    promised = date.fromisoformat(data["promised"])
    return Van(data["id"], ((_instant(data["arrives"]), None),), promised, data.get("weight", 1))


def _task(data: Mapping[str, Any], step: int) -> Task:
    """One task. In these files work that isn't whole slots can't be planned; in a shop it is rounded up."""
    odd = data["minutes"] <= 0 or data["minutes"] % step
    not_before = data.get("not_before")
    pin = data.get("pin_week")
    return Task(
        id=data["id"],
        van=data["van"],
        minutes=data["minutes"],
        trade=data["trade"],
        place=data["place"],
        crew=data["crew"],
        needs_van=data["needs_van"],
        after=tuple(Link(p["task"], p["wait"]) for p in data["after"]),
        same_day=data.get("same_day", False),
        not_before=(NotBefore(_instant(not_before), "delivery", f"the parts for {data['id']}"),)
        if not_before
        else (),
        pin_week=date.fromisoformat(pin) if pin else None,
        dries_here=data.get("dries_here", 0) if data["place"] == "spray" else 0,
        waits_for_word="its working time is not a whole number of slots" if odd else None,
    )


def _reason_parts(reason: Any) -> dict[str, Any]:
    return {k: getattr(reason, k) for k in ("code", "ref", "who", "place", "until")}


WHY = {
    "no trade": "nobody has the trade",
    "loop": "it waits for itself, by way of other tasks",
    "too long for a day": "it must finish the day it starts, and no crew's day is that long",
    "crew too small": "there are not enough people for its crew",
    "no room": "its place does not hold that much",
    "no van": "its van is not here, or not for long enough",
    "no time": "nobody's hours ever meet",
}


def _why(problem: Problem, unplanned: Unplanned) -> str:
    if unplanned.code == "follows":
        return f"it follows {unplanned.ref}, which is not planned"
    if unplanned.code == "word":
        return next(t.waits_for_word for t in problem.tasks if t.id == unplanned.task) or "it waits for word"
    return WHY[unplanned.code]
