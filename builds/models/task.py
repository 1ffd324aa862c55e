"""Tasks and the links between them: the network that the plan is made from."""

from __future__ import annotations

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from .build import Build
from .unit import Installation, Unit

PLACE_KEYS = (
    "bay",
    "inside",
    "underneath",
    "outside",
    "bench",
    "spray",
    "rack",
    "office",
    "road",
    "weighbridge",
)


class TaskQuerySet(models.QuerySet):
    def kept(self) -> TaskQuerySet:
        """All but those removed; a removed task keeps its history."""
        return self.filter(removed_at=None)

    def unfinished(self) -> TaskQuerySet:
        return self.kept().exclude(state="done")


class Task(models.Model):
    """One piece of work by a crew at a place.

    `state`, `started_at`, `finished_at`, `hours_left`, `stop_reason` and `crew_on_it` are the
    projection of this task's floor events and are written only together with one. `changed_at` is when
    the owner last changed what the work is. `standard_share` is how many times the standard's hours
    the whole of it is; nothing once it is a part, a copy or a merger of standard work.
    """

    STATES = [("to do", "to do"), ("under way", "under way"), ("done", "done"), ("stopped", "stopped")]

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="tasks")
    unit = models.ForeignKey(Unit, null=True, blank=True, on_delete=models.CASCADE, related_name="tasks")
    installation = models.ForeignKey(
        Installation, null=True, blank=True, on_delete=models.CASCADE, related_name="tasks"
    )
    key = models.CharField(max_length=80)
    standard = models.CharField(max_length=40, blank=True)
    standard_share = models.DecimalField(
        "times the standard's hours", max_digits=8, decimal_places=4, null=True, blank=True, editable=False
    )
    name = models.CharField(max_length=120)
    phase = models.CharField(max_length=40, blank=True)
    trade = models.ForeignKey("builds.Trade", to_field="key", on_delete=models.PROTECT)
    place = models.ForeignKey("builds.Place", to_field="key", on_delete=models.PROTECT)
    crew = models.PositiveSmallIntegerField(
        "people at once", default=1, validators=[MinValueValidator(1), MaxValueValidator(8)]
    )
    hours_low = models.DecimalField(max_digits=5, decimal_places=2, default=Decimal("0.75"))
    hours = models.DecimalField(
        "likely hours",
        max_digits=5,
        decimal_places=2,
        default=Decimal("1.00"),
        validators=[MinValueValidator(Decimal("0.25")), MaxValueValidator(Decimal("200"))],
    )
    hours_high = models.DecimalField(max_digits=5, decimal_places=2, default=Decimal("1.50"))
    same_day = models.BooleanField("finishes the day it starts", default=False)
    needs_van = models.BooleanField("needs the van here", default=True)
    claims_van = models.BooleanField("nobody else works on the van meanwhile", default=False)
    closes_up = models.BooleanField("photos are asked for before it closes up what is behind", default=False)
    dries_here_minutes = models.PositiveIntegerField(default=0)
    rack_minutes = models.PositiveIntegerField(default=0)
    still_minutes = models.PositiveIntegerField(default=0)
    reminder = models.CharField(max_length=200, blank=True)
    caution = models.SlugField(max_length=30, blank=True)
    materials = models.CharField("to have at hand", max_length=300, blank=True)
    why = models.CharField(max_length=200, blank=True)
    unplanned_job = models.BooleanField("job nobody planned", default=False)
    warranty = models.BooleanField(default=False)
    customer_sees = models.BooleanField("may be named to the customer", default=True)
    order = models.PositiveIntegerField(default=0)

    state = models.CharField(max_length=10, choices=STATES, default="to do")
    started_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    hours_left = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)
    hours_taken = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    stop_reason = models.CharField(max_length=200, blank=True)
    crew_on_it = models.JSONField(default=list, blank=True)

    changed_at = models.DateTimeField(null=True, blank=True, editable=False)
    removed_at = models.DateTimeField(null=True, blank=True)
    merged_into = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.SET_NULL, related_name="merged_from"
    )
    form_token = models.UUIDField(null=True, blank=True, unique=True, editable=False)
    version = models.PositiveIntegerField(default=1)

    objects = TaskQuerySet.as_manager()

    class Meta:
        ordering = ["build", "order", "id"]
        indexes = [models.Index(fields=["build", "state"])]
        constraints = [
            models.UniqueConstraint(
                fields=["build", "key"], condition=Q(removed_at=None), name="one_task_a_key_and_build"
            ),
            models.CheckConstraint(condition=Q(hours__gt=0), name="task_takes_time"),
            models.CheckConstraint(
                condition=Q(hours_low__lte=F("hours")) & Q(hours_high__gte=F("hours")),
                name="hours_low_likely_high_in_order",
            ),
            models.CheckConstraint(
                condition=Q(state__in=["to do", "under way", "done", "stopped"]), name="task_state_is_known"
            ),
            models.CheckConstraint(
                condition=~Q(state="stopped") | ~Q(stop_reason=""), name="stopped_tasks_say_why"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def group_name(self) -> str:
        """The unit or installation it belongs to, or the van as a whole."""
        owner = self.unit or self.installation
        return owner.name if owner else "Whole van"


class Link(models.Model):
    """`after` may start `wait_minutes` of clock time after `before` ends.

    `dry_at` is a fitter's word on the day: the wait ends then, whatever the figure said.
    """

    before = models.ForeignKey(Task, on_delete=models.CASCADE, related_name="links_out")
    after = models.ForeignKey(Task, on_delete=models.CASCADE, related_name="links_in")
    wait_minutes = models.PositiveIntegerField(default=0, validators=[MaxValueValidator(60 * 24 * 120)])
    latest_minutes = models.PositiveIntegerField(null=True, blank=True)
    cure = models.CharField(max_length=40, blank=True)
    why = models.CharField(max_length=200, blank=True)
    dry_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["before", "after"], name="one_link_a_pair"),
            models.CheckConstraint(condition=~Q(before=F("after")), name="link_joins_two_tasks"),
        ]

    def __str__(self) -> str:
        return f"{self.before} before {self.after}"


class Pin(models.Model):
    """The owner's word: this task starts not before the week of `monday`, and in it if it can."""

    task = models.OneToOneField(Task, on_delete=models.CASCADE, related_name="pin")
    monday = models.DateField()
    set_at = models.DateTimeField()
    set_by = models.ForeignKey("builds.User", null=True, on_delete=models.SET_NULL)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(monday__iso_week_day=1), name="pin_is_a_monday"),
        ]

    def __str__(self) -> str:
        return f"{self.task} pinned to the week of {self.monday}"
