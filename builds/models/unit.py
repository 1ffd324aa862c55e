"""What is built and put in: units of furniture and installations, and the kinds to pick from."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from .build import Build


class UnitKind(models.Model):
    """A kind of furniture in the standard library, with the sizes it usually has."""

    key = models.SlugField(unique=True, max_length=30)
    name = models.CharField(max_length=60)
    width_mm = models.PositiveIntegerField()
    depth_mm = models.PositiveIntegerField()
    height_mm = models.PositiveIntegerField()
    made_as = models.CharField("made in the way of", max_length=30, default="carcass")
    least_mm = models.JSONField("smallest width, depth, height", default=list)
    most_mm = models.JSONField("largest width, depth, height", default=list)
    work = models.DecimalField("work against a plain carcass", max_digits=4, decimal_places=2, default=1)
    board = models.CharField("board it is made of", max_length=40, blank=True)
    board_share = models.DecimalField(
        "board area as a share of the outer box", max_digits=5, decimal_places=3, default=1
    )
    coated_faces = models.PositiveSmallIntegerField(default=2)
    about = models.CharField(max_length=200, blank=True)
    basis = models.CharField(max_length=240, blank=True)
    order = models.PositiveSmallIntegerField(default=0)
    withdrawn = models.BooleanField(default=False)

    class Meta:
        ordering = ["order", "name"]

    def __str__(self) -> str:
        return self.name


class InstallationKind(models.Model):
    """A kind of installation in the standard library."""

    key = models.SlugField(unique=True, max_length=30)
    name = models.CharField(max_length=60)
    usual = models.BooleanField("picked at first", default=True)
    needs = models.JSONField("needs these too", default=list, blank=True)
    counted_in = models.CharField(max_length=30, blank=True)
    usual_count = models.PositiveSmallIntegerField(default=1)
    about = models.CharField(max_length=200, blank=True)
    basis = models.CharField(max_length=240, blank=True)
    order = models.PositiveSmallIntegerField(default=0)
    withdrawn = models.BooleanField(default=False)

    class Meta:
        ordering = ["order", "name"]

    def __str__(self) -> str:
        return self.name


def _size(label: str) -> models.PositiveIntegerField:
    return models.PositiveIntegerField(label, validators=[MinValueValidator(20), MaxValueValidator(6000)])


class StandingRows(models.Manager):
    """Leaves out what was taken out of a build again; those rows stay for the work done on them."""

    def get_queryset(self) -> models.QuerySet:
        return super().get_queryset().filter(removed_at=None)


class Unit(models.Model):
    """A piece of furniture of one build, with its outer sizes. `objects` are those that stand."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="units")
    kind = models.SlugField(max_length=30)
    name = models.CharField(max_length=60)
    width_mm = _size("width, mm")
    depth_mm = _size("depth, mm")
    height_mm = _size("height, mm")
    stands = models.CharField("where in the van", max_length=60, blank=True)
    order = models.PositiveSmallIntegerField(default=0)
    removed_at = models.DateTimeField(null=True, blank=True)

    objects = StandingRows()
    ever = models.Manager()

    class Meta:
        ordering = ["order", "id"]

    def __str__(self) -> str:
        return self.name


class Installation(models.Model):
    """A system put into one build. `objects` are those that stand."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="installations")
    kind = models.SlugField(max_length=30)
    name = models.CharField(max_length=60)
    count = models.PositiveSmallIntegerField(
        default=1, validators=[MinValueValidator(1), MaxValueValidator(50)]
    )
    order = models.PositiveSmallIntegerField(default=0)
    removed_at = models.DateTimeField(null=True, blank=True)

    objects = StandingRows()
    ever = models.Manager()

    class Meta:
        ordering = ["order", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["build", "kind", "name"],
                condition=models.Q(removed_at=None),
                name="one_installation_a_name",
            )
        ]

    def __str__(self) -> str:
        return self.name
