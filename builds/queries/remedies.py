"""What would bring a van back, as it was tried beside the plan."""

from __future__ import annotations

from dataclasses import dataclass

from builds.models import Build, PlanState, Shop
from builds.queries.remedy_words import RemedyLine, stored_lines


@dataclass(frozen=True, slots=True)
class WhatHelps:
    """The remedies of one van. `state` is "not yet", "stale" for those of an earlier plan, or "fresh"."""

    state: str
    lines: tuple[RemedyLine, ...] = ()

    @property
    def is_fresh(self) -> bool:
        return self.state == "fresh"


def what_helps(build: Build, state: PlanState | None, shop: Shop) -> WhatHelps:
    """The remedies of one build as they are stored beside the plan; no query."""
    if state is None or state.remedies_of is None:
        return WhatHelps("not yet")
    fresh = "fresh" if state.remedies_of == shop.revision else "stale"
    return WhatHelps(fresh, stored_lines(state.remedies.get(str(build.pk), ())))
