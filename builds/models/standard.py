"""The shop's standard library as rows with stable keys. A build copies what it uses."""

from __future__ import annotations

from django.core.validators import MinValueValidator
from django.db import models


class StandardTask(models.Model):
    """A task as the shop usually does it. `scope` says when and how often a build gets one."""

    key = models.SlugField(unique=True, max_length=40)
    name = models.CharField(max_length=120)
    scope = models.CharField(max_length=400, default="van")
    only_with = models.JSONField("only with these installations or units", default=list, blank=True)
    phase = models.CharField(max_length=40, blank=True)
    trade = models.SlugField(max_length=30)
    place = models.SlugField(max_length=20)
    crew = models.PositiveSmallIntegerField(default=1, validators=[MinValueValidator(1)])
    hours_low = models.DecimalField(max_digits=5, decimal_places=2)
    hours_likely = models.DecimalField(max_digits=5, decimal_places=2)
    hours_high = models.DecimalField(max_digits=5, decimal_places=2)
    scaled = models.BooleanField("hours grow with the unit", default=False)
    same_day = models.BooleanField(default=False)
    needs_van = models.BooleanField(default=True)
    claims_van = models.BooleanField(default=False)
    closes_up = models.BooleanField(default=False)
    dries_here_hours = models.DecimalField(max_digits=6, decimal_places=2, default=0)
    rack_hours = models.DecimalField(max_digits=6, decimal_places=2, default=0)
    still_hours = models.DecimalField(max_digits=6, decimal_places=2, default=0)
    hold_point = models.SlugField(max_length=30, blank=True)
    reminder = models.CharField(max_length=200, blank=True)
    caution = models.SlugField(max_length=30, blank=True)
    materials = models.JSONField(default=list, blank=True)
    lead_time = models.CharField(max_length=20, blank=True)
    why = models.CharField(max_length=200, blank=True)
    basis = models.CharField(max_length=240, blank=True)
    order = models.PositiveSmallIntegerField(default=0)
    withdrawn = models.BooleanField(default=False)
    declined_cases = models.PositiveIntegerField(
        "cases known when other hours were last declined", default=0, editable=False
    )

    class Meta:
        ordering = ["order", "key"]

    def __str__(self) -> str:
        return self.name


class StandardLink(models.Model):
    """`after` may start `wait_hours` of clock time after `before` ends."""

    before = models.ForeignKey(
        StandardTask, to_field="key", on_delete=models.CASCADE, related_name="links_out"
    )
    after = models.ForeignKey(StandardTask, to_field="key", on_delete=models.CASCADE, related_name="links_in")
    wait_hours = models.DecimalField(max_digits=6, decimal_places=2, default=0)
    latest_hours = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    cure = models.CharField(max_length=40, blank=True)
    match = models.CharField(
        max_length=6, choices=[("own", "the same unit's"), ("every", "every unit's")], default="own"
    )
    before_units = models.JSONField("only of units of these kinds", default=list, blank=True)
    why = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(before=models.F("after")), name="standard_link_joins_two_tasks"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.before_id} before {self.after_id}"


class StandardHoldPoint(models.Model):
    """A check of the standard dozen, with its fields and their limits."""

    key = models.SlugField(unique=True, max_length=30)
    name = models.CharField(max_length=80)
    licensed_trade = models.SlugField(max_length=30, blank=True)
    may_overrule = models.BooleanField(default=True)
    certificate_due = models.BooleanField("certificate reference gates handover", default=False)
    photo_wanted = models.BooleanField(default=False)
    caution = models.SlugField(max_length=30, blank=True)
    fields = models.JSONField(default=list, blank=True)
    basis = models.CharField(max_length=240, blank=True)
    order = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["order", "key"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(licensed_trade="") | models.Q(may_overrule=False),
                name="licensed_standard_checks_never_overruled",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Caution(models.Model):
    """The usual caution about work that can hurt someone, shown where it is needed."""

    key = models.SlugField(unique=True, max_length=30)
    text = models.TextField()

    class Meta:
        ordering = ["key"]

    def __str__(self) -> str:
        return self.key
