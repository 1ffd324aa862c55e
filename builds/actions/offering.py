"""A date worked out for a van that is not taken on yet becomes the one the customer is told."""

from __future__ import annotations

from datetime import date, datetime

from builds.actions.builds import change_build, tell_promise
from builds.actions.door import Refused, write
from builds.models import Build, User


def promise_ready(
    *, build: Build, arrives_on: date, promised_on: date, version: int | None, now: datetime, by: User | None
) -> Build:
    """Keeps the day the van comes and the handover it is promised for, together or not at all.

    The same pair twice is told once. Refused for a build that is planned already: its dates are changed
    where they stand.
    """
    with write(plan=False):
        row = Build.objects.filter(pk=build.pk).first()
        if row is not None and (row.arrives_on, row.promised_on) == (arrives_on, promised_on):
            return row
        if row is not None and row.status != "asked":
            raise Refused(f"{row.name} is {row.status}. Change its dates under Van and customer.")
        if promised_on <= arrives_on:
            raise Refused("The promise has to be after the day the van comes.", field="promised_on")
        about = {"now": now, "by": by}
        arrival = {"changes": {"arrives_on": arrives_on}, **about}
        promise = {"promised_on": promised_on, "why": "as the plan gave it, kept in 80 of 100 runs", **about}
        if row is not None and row.promised_on and arrives_on >= row.promised_on:
            build = tell_promise(build=build, version=version, **promise)
            return change_build(build=build, **arrival)
        build = change_build(build=build, version=version, **arrival)
        return tell_promise(build=build, **promise)
