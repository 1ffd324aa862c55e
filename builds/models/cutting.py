"""Cutting plans: which sheets and lengths are cut into what, and which of them are cut already."""

from __future__ import annotations

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from .build import Build
from .material import Material
from .people import Person
from .stock import Offcut
from .unit import Unit


class CuttingPlan(models.Model):
    """What of one material is cut for some builds together. Its sheets are rows of `CutSheet`.

    `made_of` tells parts that changed since from those it was laid out for. `unplaced` lists what fits
    nothing: name, unit, van, count, sizes; `notes` what else to know. While a better layout is looked
    for `is_looking` is true; `run` counts the workers that took it up, and only the last may write.
    """

    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="cutting_plans")
    builds = models.ManyToManyField(Build, related_name="cutting_plans")
    kerf_tenths = models.PositiveIntegerField()
    trim_tenths = models.PositiveIntegerField()
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL)
    made_of = models.CharField(max_length=64)
    unplaced = models.JSONField(default=list)
    notes = models.JSONField(default=list)
    is_looking = models.BooleanField(default=False)
    stop_asked = models.BooleanField(default=False)
    seconds = models.PositiveIntegerField(default=0)
    seconds_spent = models.FloatField(default=0.0)
    run = models.PositiveIntegerField(default=0)
    heard_at = models.DateTimeField(null=True)
    found = models.CharField("what the last search found", max_length=200, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ["material__order", "material__name", "id"]

    def __str__(self) -> str:
        return f"cutting plan of {self.material}"


class CutSheet(models.Model):
    """One sheet, offcut or length and what is cut from it; without `width_tenths` it is a length.

    `pieces` are dicts of part, unit, build (ids), name, unit_name, van, x, y, length, width, all as the
    saw was told. `leftovers` are [x, y, length, width]. All sizes in tenths of a millimetre.
    """

    plan = models.ForeignKey(CuttingPlan, on_delete=models.CASCADE, related_name="sheets")
    number = models.PositiveIntegerField()
    offcut = models.ForeignKey(
        Offcut, null=True, blank=True, on_delete=models.PROTECT, related_name="cut_sheets"
    )
    length_tenths = models.PositiveIntegerField()
    width_tenths = models.PositiveIntegerField(null=True, blank=True)
    pieces = models.JSONField(default=list)
    leftovers = models.JSONField(default=list)
    cost = models.DecimalField(max_digits=12, decimal_places=4, default=0)
    cuts = models.PositiveIntegerField(default=0)
    levels = models.PositiveSmallIntegerField(default=0)
    cut_at = models.DateTimeField(null=True, blank=True)
    cut_by = models.ForeignKey(Person, null=True, blank=True, on_delete=models.SET_NULL)

    class Meta:
        ordering = ["plan", "number"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "number"], name="one_sheet_a_number_and_plan"),
            models.CheckConstraint(condition=Q(length_tenths__gt=0), name="a_cut_sheet_has_a_length"),
        ]

    def __str__(self) -> str:
        return f"sheet {self.number} of {self.plan.material}"


class Run(models.Model):
    """`count` equal runs of a batten, trim, pipe or cable in one build, cut from stock lengths.

    One that is longer than the stock is joined from several, unless it is `one_piece`.
    """

    LONGEST_TENTHS = 1_000_000

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="runs")
    unit = models.ForeignKey(Unit, null=True, blank=True, on_delete=models.CASCADE, related_name="runs")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="runs")
    name = models.CharField("what it is for", max_length=80)
    length_tenths = models.PositiveIntegerField(
        validators=[MinValueValidator(10), MaxValueValidator(LONGEST_TENTHS)]
    )
    count = models.PositiveSmallIntegerField(
        default=1, validators=[MinValueValidator(1), MaxValueValidator(999)]
    )
    one_piece = models.BooleanField("one piece, never joined", default=False)
    form_token = models.UUIDField(null=True, blank=True, unique=True, editable=False)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ["material__order", "id"]

    def __str__(self) -> str:
        return self.name
