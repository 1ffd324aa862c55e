"""A build: one van's conversion from survey to handover, with its base van and promise."""

from __future__ import annotations

from datetime import date

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from .customer import Customer


class BodySize(models.Model):
    """A generic panel-van body to start a base van from; no maker's figures."""

    key = models.SlugField(unique=True, max_length=30)
    name = models.CharField(max_length=60)
    wheelbase_mm = models.PositiveIntegerField()
    overall_length_mm = models.PositiveIntegerField()
    load_length_mm = models.PositiveIntegerField()
    load_width_mm = models.PositiveIntegerField()
    load_height_mm = models.PositiveIntegerField()
    rear_overhang_mm = models.PositiveIntegerField(default=0)
    plated_mass_kg = models.PositiveIntegerField()
    front_axle_limit_kg = models.PositiveIntegerField()
    rear_axle_limit_kg = models.PositiveIntegerField()
    arriving_mass_kg = models.PositiveIntegerField()
    order = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["order", "name"]

    def __str__(self) -> str:
        return self.name


def _millimetres(label: str, most: int) -> models.PositiveIntegerField:
    return models.PositiveIntegerField(
        label, null=True, blank=True, validators=[MinValueValidator(100), MaxValueValidator(most)]
    )


def _kilograms(label: str) -> models.PositiveIntegerField:
    return models.PositiveIntegerField(
        label, null=True, blank=True, validators=[MinValueValidator(100), MaxValueValidator(12000)]
    )


class BuildQuerySet(models.QuerySet):
    def in_the_shop(self, today: date) -> BuildQuerySet:
        """Builds whose van is here to stay, or was promised a start by today."""
        return self.filter(status="agreed", arrives_on__lte=today)

    def to_plan(self) -> BuildQuerySet:
        return self.filter(status="agreed")

    def current(self) -> BuildQuerySet:
        return self.exclude(status__in=["dropped", "handed over"])


class Build(models.Model):
    """One van's conversion. `promised_on` is the handover date told to the customer."""

    STATUSES = [
        ("asked", "asked about"),
        ("agreed", "agreed"),
        ("handed over", "handed over"),
        ("dropped", "dropped"),
    ]

    name = models.CharField("name of the van", max_length=60)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="builds")
    status = models.CharField(max_length=12, choices=STATUSES, default="agreed")
    body_name = models.CharField("body size", max_length=60, blank=True)
    registration = models.CharField(max_length=20, blank=True)
    wheelbase_mm = _millimetres("wheelbase, mm", 6000)
    overall_length_mm = _millimetres("overall length, mm", 9000)
    load_length_mm = _millimetres("load length, mm", 7000)
    load_width_mm = _millimetres("load width, mm", 2600)
    load_height_mm = _millimetres("load height, mm", 2600)
    rear_overhang_mm = _millimetres("rear overhang, mm", 3000)
    plated_mass_kg = _kilograms("plated mass, kg")
    front_axle_limit_kg = _kilograms("front axle limit, kg")
    rear_axle_limit_kg = _kilograms("rear axle limit, kg")
    arriving_mass_kg = _kilograms("mass as it arrives, kg")
    survey_on = models.DateField("survey day", null=True, blank=True)
    arrives_on = models.DateField("comes to stay on", null=True, blank=True)
    promised_on = models.DateField("promised handover", null=True, blank=True)
    promise_weight = models.PositiveSmallIntegerField(
        "weight of a late day", default=1, validators=[MinValueValidator(1), MaxValueValidator(9)]
    )
    price_agreed = models.DecimalField(
        max_digits=10, decimal_places=2, null=True, blank=True, validators=[MinValueValidator(0)]
    )
    notes = models.TextField(blank=True, max_length=10000)
    handed_over_on = models.DateField(null=True, blank=True)
    return_of = models.ForeignKey(
        "self",
        verbose_name="comes back after",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="returns",
    )
    form_token = models.UUIDField(null=True, blank=True, unique=True, editable=False)
    made_at = models.DateTimeField(auto_now_add=True)
    version = models.PositiveIntegerField(default=1)

    objects = BuildQuerySet.as_manager()

    class Meta:
        ordering = [models.F("arrives_on").asc(nulls_last=True), "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(promised_on=None) | Q(arrives_on=None) | Q(promised_on__gt=F("arrives_on")),
                name="promise_after_arrival",
            ),
            models.CheckConstraint(
                condition=Q(survey_on=None) | Q(arrives_on=None) | Q(survey_on__lte=F("arrives_on")),
                name="survey_not_after_arrival",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class PromiseTold(models.Model):
    """Each date the customer was ever told, and why it changed."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="promises_told")
    promised_on = models.DateField()
    told_at = models.DateTimeField()
    why = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey("builds.User", null=True, on_delete=models.SET_NULL)

    class Meta:
        ordering = ["-told_at", "-id"]

    def __str__(self) -> str:
        return f"{self.build}: {self.promised_on}"


class Stage(models.Model):
    """One open shop week of one build: its aim, and the progress sheet once there is one."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="stages")
    monday = models.DateField()
    aim = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["monday"]
        constraints = [
            models.UniqueConstraint(fields=["build", "monday"], name="one_stage_a_week"),
            models.CheckConstraint(condition=Q(monday__iso_week_day=1), name="stage_starts_on_monday"),
        ]

    def __str__(self) -> str:
        return f"{self.build}, week of {self.monday}"


class Journal(models.Model):
    """What an owner did, in words, kept for good: who, when, to which build."""

    at = models.DateTimeField()
    by = models.ForeignKey("builds.User", null=True, blank=True, on_delete=models.SET_NULL)
    build = models.ForeignKey(Build, null=True, blank=True, on_delete=models.SET_NULL, related_name="journal")
    what = models.CharField(max_length=300)

    class Meta:
        ordering = ["-at", "-id"]

    def __str__(self) -> str:
        return self.what
