"""Where work happens."""

from __future__ import annotations

from django.db import models


class Place(models.Model):
    """A kind of place and how much it holds at once. `key` is what tasks and the planner name."""

    COUNTS = [("jobs", "jobs"), ("people", "people")]
    POSITIONS = [
        ("", "does not matter"),
        ("bay", "standing in its bay"),
        ("ramps", "up on ramps"),
        ("out", "out of the bay"),
    ]

    key = models.SlugField(unique=True, max_length=20)
    name = models.CharField(max_length=40)
    room = models.PositiveSmallIntegerField("holds at once", null=True, blank=True)
    counts = models.CharField(max_length=6, choices=COUNTS, default="jobs")
    per_van = models.BooleanField("counted for each van", default=False)
    holds_bay = models.BooleanField("keeps the van in a bay", default=False)
    van_position = models.CharField(max_length=6, choices=POSITIONS, blank=True, default="")
    caution = models.TextField(blank=True)
    order = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["order", "name"]

    def __str__(self) -> str:
        return self.name
