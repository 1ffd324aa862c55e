"""Which papers a handover still waits for."""

from __future__ import annotations

from builds.models import Build, HoldPoint


def certificates_missing(build: Build) -> tuple[str, ...]:
    """Names of the build's checks whose certificate reference is due and not on record."""
    rows = HoldPoint.objects.filter(task__build=build, task__removed_at=None, certificate_due=True)
    return tuple(rows.filter(certificate="").order_by("task__order").values_list("name", flat=True))
