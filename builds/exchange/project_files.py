"""Published project files: `.sm` (single projects, PSPLIB) and `.rcmp` (several projects, MPLIB)."""

from __future__ import annotations

from pathlib import Path

from builds.engines.planning.projects.project import Activity, Project

from .problem_files import UnreadableProblem, why_unreadable


def read_project(path: str | Path) -> Project:
    """The project in a file. Raises `UnreadableProblem` when it can't be read as one."""
    readers = {".sm": _single, ".rcmp": _several}
    reader = readers.get(Path(path).suffix)
    if reader is None:
        raise UnreadableProblem(str(path), "neither .sm nor .rcmp")
    try:
        return reader(Path(path).read_text())
    except (OSError, ValueError, IndexError, KeyError, StopIteration) as wrong:
        raise UnreadableProblem(str(path), why_unreadable(wrong)) from wrong


def _single(text: str) -> Project:
    """PSPLIB (Kolisch and Sprecher, EJOR 96, 1996): tables of successors, of requests, of capacities."""
    lines = text.splitlines()
    numbers = [[int(w) for w in line.split()] if _is_row(line) else None for line in lines]
    links = _rows_under(lines, numbers, "PRECEDENCE RELATIONS")
    requests = _rows_under(lines, numbers, "REQUESTS/DURATIONS")
    capacities = _rows_under(lines, numbers, "RESOURCEAVAILABILITIES")[0]
    after: dict[int, list[int]] = {row[0]: [] for row in requests}
    for row in links:
        if row[1] != 1:
            raise ValueError("several modes")
        for follower in row[3 : 3 + row[2]]:
            after[follower].append(row[0] - 1)
    return Project(
        tuple(Activity(row[2], tuple(row[3:]), tuple(after[row[0]])) for row in requests),
        tuple(capacities),
    )


def _is_row(line: str) -> bool:
    words = line.split()
    return bool(words) and all(w.isdigit() for w in words)


def _rows_under(lines: list[str], numbers: list[list[int] | None], title: str) -> list[list[int]]:
    """The rows of figures in the table under a title."""
    at = next(k for k, line in enumerate(lines) if line.replace(" ", "").startswith(title.replace(" ", "")))
    rows: list[list[int]] = []
    for row in numbers[at + 1 :]:
        if row is not None:
            rows.append(row)
        elif rows:
            break
    return rows


def _several(text: str) -> Project:
    """MPLIB (Van Eynde and Vanhoucke, J. Sched. 23, 2020): one project after another, resources shared.

    For each project: how many activities, its release, and which resources it uses; for each activity its
    length, uses and followers as project:activity, both counted from 1.
    """
    words = iter(text.split())
    projects, resources = int(next(words)), int(next(words))
    capacities = tuple(int(next(words)) for _ in range(resources))
    rows: list[tuple[int, tuple[int, ...], int, list[tuple[int, int]]]] = []
    first = []
    for _ in range(projects):
        count, release = int(next(words)), int(next(words))
        for _ in range(resources):
            next(words)
        first.append(len(rows))
        for _ in range(count):
            length = int(next(words))
            uses = tuple(int(next(words)) for _ in range(resources))
            named = [next(words).split(":") for _ in range(int(next(words)))]
            rows.append((length, uses, release, [(int(p), int(a)) for p, a in named]))
    after: list[list[int]] = [[] for _ in rows]
    for n, row in enumerate(rows):
        for project, activity in row[3]:
            after[first[project - 1] + activity - 1].append(n)
    return Project(
        tuple(Activity(row[0], row[1], tuple(p), row[2]) for row, p in zip(rows, after, strict=True)),
        capacities,
    )
