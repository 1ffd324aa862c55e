"""What proves a check: its photos, and the certificates that a handover still waits for."""

from __future__ import annotations

from datetime import datetime

from django.db.models import Q, QuerySet

from builds.models import Build, HoldPoint, Photo


def certificates_missing(build: Build) -> tuple[str, ...]:
    """Names of the build's checks whose certificate reference is due and not on record."""
    rows = HoldPoint.objects.filter(task__build=build, task__removed_at=None, certificate_due=True)
    return tuple(rows.filter(certificate="").order_by("task__order").values_list("name", flat=True))


def photos_of_check(check: HoldPoint) -> QuerySet[Photo]:
    """The photos of the check and of its task, newest first."""
    return Photo.objects.filter(Q(hold_point=check) | Q(task=check.task_id))


def asked_since(check: HoldPoint) -> datetime | None:
    """When the check last failed or was opened again: older photos prove nothing. None: neither was ever."""
    rows = check.records.filter(outcome__in=("failed", "reopened"))
    return rows.values_list("at", flat=True).first()


def has_photo(check: HoldPoint) -> bool:
    """Whether there is a photo of the check as it is asked for now."""
    photos, since = photos_of_check(check), asked_since(check)
    return (photos if since is None else photos.filter(taken_at__gte=since)).exists()
