"""What the pages of one build share: finding it, and the way around."""

from __future__ import annotations

from django.db.models import Count
from django.shortcuts import get_object_or_404
from django.urls import reverse

from builds.models import Build

WAYS = (
    ("owner:build-page", "The date"),
    ("owner:build-work", "Work"),
    ("owner:build-facts", "Van and customer"),
    ("owner:build-fitted", "What goes in"),
    ("owner:build-material", "Material"),
    ("owner:build-cutting", "Cutting"),
    ("owner:build-record", "Record"),
    ("owner:build-papers", "Papers"),
)


def build_or_404(pk: int) -> Build:
    """The build with its customer and how many dates were ever promised."""
    rows = Build.objects.select_related("customer").annotate(dates_told=Count("promises_told"))
    return get_object_or_404(rows, pk=pk)


def ways_of_build(build: Build, current: str) -> list[tuple[str, str, bool]]:
    """Gives (address, words, whether it is `current`) for each page of a build."""
    return [(reverse(name, args=[build.pk]), words, name == current) for name, words in WAYS]
