"""What happened on the floor: rows that are only ever added."""

from __future__ import annotations

import uuid

from django.db import models

from .build import Build
from .people import Person, Tablet, User
from .task import Task


class FloorEvent(models.Model):
    """One thing that somebody did, as they did it. Task state is the projection of these.

    `verb` is one of the floor's words (start, tick, half a day left, stop, go on, dry, not yet dry,
    pass, fail, overrule, note, photo, snag, undo, bulk tick, reopen). `payload` is what came with it.
    `device_at` is the tablet's own clock, `offset_ms` how far it was from ours when it was sent.
    `undoes` takes another event back; `about` is the owner's word on one: "settle" or "hours".
    """

    OUTCOMES = [("kept", "kept"), ("refused", "refused"), ("to settle", "to settle")]

    uuid = models.UUIDField(unique=True, default=uuid.uuid4)
    tablet = models.ForeignKey(Tablet, null=True, blank=True, on_delete=models.PROTECT, related_name="events")
    sequence = models.PositiveBigIntegerField(null=True, blank=True)
    person = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="events")
    user = models.ForeignKey(User, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    build = models.ForeignKey(Build, null=True, on_delete=models.PROTECT, related_name="events")
    task = models.ForeignKey(Task, null=True, blank=True, on_delete=models.PROTECT, related_name="events")
    verb = models.CharField(max_length=20)
    payload = models.JSONField(default=dict, blank=True)
    undoes = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="undone_by"
    )
    about = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="owners_words"
    )
    happened_at = models.DateTimeField()
    device_at = models.DateTimeField(null=True, blank=True)
    offset_ms = models.IntegerField(default=0)
    received_at = models.DateTimeField()
    outcome = models.CharField(max_length=10, choices=OUTCOMES, default="kept")
    answer = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["id"]
        indexes = [models.Index(fields=["task", "id"]), models.Index(fields=["build", "received_at"])]
        constraints = [
            models.UniqueConstraint(
                fields=["tablet", "sequence"],
                condition=models.Q(tablet__isnull=False, sequence__isnull=False),
                name="one_event_a_tablet_sequence",
            )
        ]

    def __str__(self) -> str:
        return f"{self.verb} {self.task or self.build}"
