"""The one plan, always current, and what the crew was told."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from .task import Task


class PlanRow(models.Model):
    """One task's place in the current plan, with what bound its start.

    `fitters` are person ids, lead first. `reason` holds the code and its parameters as the planner
    gave them; `flags` its unwelcome truths ("pin broken").
    """

    task = models.OneToOneField(Task, on_delete=models.CASCADE, related_name="planned")
    start = models.DateTimeField(db_index=True)
    finish = models.DateTimeField()
    fitters = models.JSONField(default=list)
    reason = models.JSONField(default=dict)
    flags = models.JSONField(default=list)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(finish__gte=F("start")), name="plan_row_runs_forward")
        ]

    def __str__(self) -> str:
        return f"{self.task}: {self.start:%a %d %b %H:%M}"


class ToldRow(models.Model):
    """What the crew was told for one task: the week it is in and who does it."""

    task = models.OneToOneField(Task, on_delete=models.CASCADE, related_name="told")
    monday = models.DateField()
    start = models.DateTimeField()
    finish = models.DateTimeField()
    fitters = models.JSONField(default=list)
    told_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.task} told for the week of {self.monday}"


class PlanState(models.Model):
    """What belongs to the plan as a whole: the stored order, and what could not be planned.

    `unplanned` is a list of {"task", "code", "ref"}; `order` a list of task ids; `crews` maps a task
    id to person ids, lead first; `handovers` a build id to an ISO instant or null.
    """

    id = models.PositiveSmallIntegerField(primary_key=True, default=1)
    made_at = models.DateTimeField(null=True)
    took_ms = models.PositiveIntegerField(default=0)
    order = models.JSONField(default=list)
    crews = models.JSONField(default=dict)
    unplanned = models.JSONField(default=list)
    handovers = models.JSONField(default=dict)
    moves = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"plan of {self.made_at}"
