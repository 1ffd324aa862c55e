"""A whole project as one CP-SAT model: one interval an activity, one cumulative limit a resource."""

from __future__ import annotations

from ortools.sat.python import cp_model

from .project import Project, Schedule, heads, tails


def solved_whole(project: Project, known: Schedule, *, seconds: float, seed: int, workers: int) -> Schedule:
    """The known schedule or a shorter one, with the solver's bound, after at most `seconds`."""
    model = cp_model.CpModel()
    starts = _starts(model, project, known)
    makespan = model.new_int_var(known.lower_bound, known.makespan, "makespan")
    for start, activity in zip(starts, project.activities, strict=True):
        model.add(start + activity.length <= makespan)
    model.minimize(makespan)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = workers
    solver.parameters.random_seed = seed
    solver.parameters.linearization_level = 0  # twice to three times as soon proven, measured on j30 and j60
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return known
    bound = max(known.lower_bound, round(solver.best_objective_bound))
    found = tuple(solver.value(s) for s in starts)
    length = max((s + a.length for s, a in zip(found, project.activities, strict=True)), default=0)
    if length > known.makespan:
        return Schedule(known.starts, known.makespan, bound)
    return Schedule(found, length, bound)


def _starts(model: cp_model.CpModel, project: Project, known: Schedule) -> list[cp_model.IntVar]:
    """Starts within heads and tails, links and capacities kept, the known schedule as a hint."""
    activities, head, tail = project.activities, heads(project), tails(project)
    starts = [
        model.new_int_var(h, max(h, known.makespan - t), f"s{n}")
        for n, (h, t) in enumerate(zip(head, tail, strict=True))
    ]
    intervals = [
        model.new_fixed_size_interval_var(s, a.length, f"i{n}")
        for n, (s, a) in enumerate(zip(starts, activities, strict=True))
    ]
    for start, activity, known_at in zip(starts, activities, known.starts, strict=True):
        model.add_hint(start, known_at)
        for before in activity.after:
            model.add(start >= starts[before] + activities[before].length)
    for k, capacity in enumerate(project.capacities):
        users = [n for n, a in enumerate(activities) if a.uses[k] and a.length]
        if users:
            model.add_cumulative(
                [intervals[n] for n in users], [activities[n].uses[k] for n in users], capacity
            )
    return starts
