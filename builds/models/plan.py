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
    `chances` maps a build id to {"50", "80", "95"} ISO instants kept in so many of 100 runs and "kept",
    the share of runs that keep the promise; `chances_of` is the revision they were worked out for.
    `remedies` maps a build id to what would bring it sooner, in words, `remedies_of` likewise.
    """

    id = models.PositiveSmallIntegerField(primary_key=True, default=1)
    made_at = models.DateTimeField(null=True)
    took_ms = models.PositiveIntegerField(default=0)
    order = models.JSONField(default=list)
    crews = models.JSONField(default=dict)
    unplanned = models.JSONField(default=list)
    handovers = models.JSONField(default=dict)
    moves = models.PositiveIntegerField(default=0)
    chances = models.JSONField(default=dict)
    chances_of = models.PositiveIntegerField(null=True)
    remedies = models.JSONField(default=dict)
    remedies_of = models.PositiveIntegerField(null=True)

    def __str__(self) -> str:
        return f"plan of {self.made_at}"


class Proposal(models.Model):
    """A search for a better plan, and what it found: an order and crews for the owner to take or not.

    `is_looking` is true while it waits or searches and null after, so that a shop runs one at a time.
    `run` counts the workers that took it up; only the last may write. `steps` are [seconds, weighted late
    days] as they fell; `order`, `crews` as in `PlanState`; `changes` what taking it changes, for whom.
    """

    STATES = [
        ("asked", "waiting to begin"),
        ("searching", "looking"),
        ("ready", "found a better plan"),
        ("nothing", "found no better plan"),
        ("taken", "taken"),
        ("dropped", "not taken"),
    ]

    state = models.CharField(max_length=10, choices=STATES, default="asked")
    is_looking = models.BooleanField(null=True, default=True, unique=True)
    asked_at = models.DateTimeField()
    asked_by = models.ForeignKey("builds.User", null=True, on_delete=models.SET_NULL)
    seconds = models.PositiveIntegerField()
    seed = models.PositiveIntegerField(default=1)
    run = models.PositiveIntegerField(default=0)
    heard_at = models.DateTimeField(null=True)
    seconds_spent = models.FloatField(default=0.0)
    tries = models.PositiveIntegerField(default=0)
    late_before = models.FloatField(null=True)
    late_after = models.FloatField(null=True)
    steps = models.JSONField(default=list)
    stop_asked = models.BooleanField(default=False)
    ended_at = models.DateTimeField(null=True)
    order = models.JSONField(default=list)
    crews = models.JSONField(default=dict)
    changes = models.JSONField(default=dict)

    class Meta:
        ordering = ["-asked_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(is_looking__isnull=True) | Q(is_looking=True, state__in=["asked", "searching"]),
                name="only_a_search_is_looking",
            ),
        ]

    def __str__(self) -> str:
        return f"search of {self.asked_at:%a %d %b %H:%M}: {self.get_state_display()}"

    @property
    def is_open(self) -> bool:
        """Whether something is still to happen: it searches, or waits for the owner's word."""
        return self.state in ("asked", "searching", "ready")


class WhatIf(models.Model):
    """A copy of the shop to try things on: only what is otherwise in it, and what came of that.

    `changes` are dicts (`builds.queries.what_if_clashes.Change`), `result` what the plan would be
    (`builds.queries.what_if_shop.result_of`), worked out for the shop's revision `worked_out_of`. `is_open`
    is null once it was kept or dropped: a shop has one open copy.
    """

    is_open = models.BooleanField(null=True, default=True, unique=True)
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    was_kept = models.BooleanField(default=False)
    changes = models.JSONField(default=list)
    result = models.JSONField(default=dict)
    worked_out_of = models.PositiveIntegerField(null=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ["-began_at", "-id"]

    def __str__(self) -> str:
        return f"copy of {self.began_at:%a %d %b %H:%M}, {len(self.changes)} changes"

    @property
    def mark(self) -> str:
        """Tells which copy, with which changes and for which state of the shop, somebody looks at."""
        return f"{self.pk}-{self.version}-{self.worked_out_of}"
