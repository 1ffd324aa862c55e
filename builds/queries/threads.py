"""Fittings of one installation, or of one piece of work, that do not screw into each other."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from builds.engines.material.threads import mismatch
from builds.queries.material_lines import NeedLine
from builds.queries.planned_work import WHOLE_VAN


def threads_that_differ(needs: Iterable[NeedLine]) -> tuple[str, ...]:
    """A line for each installation, unit or task whose fittings have several threads; none where all match.

    A material that joins two sizes carries no thread, so an adapter never counts as one that differs.
    """
    groups: dict[tuple[str, str], dict[str, str]] = defaultdict(dict)
    for need in needs:
        if need.material.thread:
            for of in {need.owner, need.used_in} - {WHOLE_VAN, ""}:
                groups[need.build, of][need.material.name] = need.material.thread
    found: dict[tuple[str, str], str] = {}
    for (build, of), threads in groups.items():
        sizes = mismatch(threads.values())
        if sizes:
            names = " and ".join(sorted(threads))
            found.setdefault((build, names), f"{of}, {build}: {names} have {sizes}.")
    return tuple(found.values())
