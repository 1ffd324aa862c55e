"""From a van's handover back to today: the chain of starts, each bound by the one before, in words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from .plan import Plan, Planned, Reason
from .problem import Problem

LONGEST_CHAIN = 400


@dataclass(frozen=True, slots=True)
class Step:
    """One start in the chain: the task, when it runs (instants), what bound it, how long a wait is.

    `wait_minutes` and `purpose` are set where a wait bound it; `behind` is the task that comes next
    in the chain, further back.
    """

    task: str
    start: int
    finish: int
    reason: Reason
    wait_minutes: int = 0
    purpose: str = ""
    behind: str | None = None


def chain(problem: Problem, plan: Plan, van: str) -> tuple[Step, ...]:
    """The reasons from the van's last task back to today, the handover first.

    Empty when nothing of the van is planned. A chain may run through other vans' work.
    """
    planned = {p.task: p for p in plan.planned}
    of = {t.id: t for t in problem.tasks}
    mine = [p for p in plan.planned if of[p.task].van == van]
    if not mine:
        return ()
    return _back_from(problem, planned, max(mine, key=lambda p: (p.finish, p.start, p.task)))


def chain_of_task(problem: Problem, plan: Plan, task: str) -> tuple[Step, ...]:
    """The reasons from one planned task back to today; empty when it isn't planned."""
    planned = {p.task: p for p in plan.planned}
    return _back_from(problem, planned, planned[task]) if task in planned else ()


def sentences(
    steps: tuple[Step, ...],
    names: Mapping[str, str],
    people: Mapping[str, str],
    show: Callable[[int], str],
    show_time: Callable[[int], str] | None = None,
) -> list[str]:
    """A chain in plain English, one sentence a step.

    `names` gives tasks, vans, places, deliveries and decisions their names (an id without one stands
    for itself), `people` fitters; `show` turns an instant into a date, `show_time` into date and time.
    """
    words = _Words(names, people, show, show_time or show)
    return [words.sentence(step) for step in steps]


def _back_from(problem: Problem, planned: Mapping[str, Planned], last: Planned) -> tuple[Step, ...]:
    of = {t.id: t for t in problem.tasks}
    steps: list[Step] = []
    seen: set[str] = set()
    at: Planned | None = last
    while at is not None and at.task not in seen and len(steps) < LONGEST_CHAIN:
        seen.add(at.task)
        behind = _behind(problem, planned, at)
        wait, purpose = 0, ""
        if at.reason.code == "wait":
            link = next(k for k in of[at.task].after if k.task == at.reason.ref)
            wait, purpose = link.wait, link.purpose
        steps.append(Step(at.task, at.start, at.finish, at.reason, wait, purpose, behind))
        at = planned.get(behind) if behind else None
    return tuple(steps)


def _behind(problem: Problem, planned: Mapping[str, Planned], at: Planned) -> str | None:
    """The task that the chain goes on with: what bound this start, or the last thing before it."""
    reason = at.reason
    if reason.code in ("after", "wait", "place", "van", "move") or (reason.code == "person" and reason.ref):
        return reason.ref
    of = {t.id: t for t in problem.tasks}
    if reason.code == "bay":
        bays = {p.key for p in problem.places.values() if p.holds_bay}
        last = [
            p
            for p in planned.values()
            if of[p.task].van == reason.ref and of[p.task].place in bays and p.finish <= at.start
        ]
        return max(last, key=lambda p: (p.finish, p.task)).task if last else None
    if reason.code in ("person", "day", "closed", "kept"):
        before = [planned[k.task] for k in of[at.task].after if k.task in planned]
        return max(before, key=lambda p: (p.finish, p.task)).task if before else None
    return None


class _Words:
    """What each code says."""

    def __init__(
        self,
        names: Mapping[str, str],
        people: Mapping[str, str],
        show: Callable[[int], str],
        show_time: Callable[[int], str],
    ) -> None:
        self._names, self._people, self._show, self._show_time = names, people, show, show_time

    def sentence(self, step: Step) -> str:
        if step.reason.code == "started":
            return f"{self._name(step.task)} is under way and ends {self._show(step.finish)}."
        return f"{self._name(step.task)} starts {self._show(step.start)} {self._because(step)}."

    def _name(self, ref: str | None) -> str:
        return self._names.get(ref, ref) if ref else ""

    def _until(self, at: int | None) -> str:
        return f" (until {self._show_time(at)})" if at is not None else ""

    def _because(self, step: Step) -> str:
        reason = step.reason
        name, who = self._name(reason.ref), self._people.get(reason.who or "", reason.who or "somebody")
        if reason.code == "wait":
            wait = f"{name} needs {_length(step.wait_minutes)} {step.purpose or 'to dry or settle'}"
            return f"because {wait}{self._until(reason.until)}"
        if reason.code == "person":
            return f"because {who} is busy with {name}" if reason.ref else f"because {who} is away until then"
        if reason.code == "place":
            return f"because {self._names.get(reason.place or '', reason.place)} is taken by {name}"
        at = self._show(reason.until) if reason.until is not None else "then"
        return {
            "now": "because nothing holds it up",
            "arrival": f"because the van is not here before {at}",
            "after": f"because {name} must be finished first",
            "bay": f"because every bay is taken until {name} leaves one",
            "van": f"because {name} is being done on the same van",
            "move": f"because the van has to be moved after {name}",
            "delivery": f"because {name} is not here before {at}",
            "decision": f"because {name} is not decided before {at}",
            "agreed": f"because {name} was agreed for {at}",
            "stopped": f"because it is stopped: {name}",
            "pin": "because it is pinned to that week",
            "kept": "because that is when it was planned before",
            "told": "because that is the week the crew was told",
            "closed": "because the shop is closed until then",
            "day": "because it must finish the day it starts and the day before was too short",
        }[reason.code]


def _length(minutes: int) -> str:
    hours = minutes / 60
    return f"{minutes} minutes" if minutes < 60 else "1 hour" if minutes == 60 else f"{hours:g} hours"
