"""What lies in the shop: stock as a sum of movements, and offcuts with their history. Rows are only added."""

from __future__ import annotations

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from .build import Build
from .material import Delivery, Material

LONGEST_MM = 20000


class StockMovement(models.Model):
    """One change of what the shop has of a material, in the material's unit.

    What lies on a van's kit shelf is not stock: it belongs to its van. `build` says which van something
    was taken for; `counted` is what a count found, from which `change` follows.
    """

    KINDS = [
        ("counted", "counted"),
        ("came", "came"),
        ("taken", "taken for a van"),
        ("cut", "cut"),
        ("lost", "broken, spoilt or lost"),
        ("back", "put back"),
        ("undone", "a booking taken back"),
    ]

    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="movements")
    change = models.DecimalField(max_digits=12, decimal_places=3)
    counted = models.DecimalField(max_digits=12, decimal_places=3, null=True, blank=True)
    kind = models.CharField(max_length=8, choices=KINDS)
    place = models.CharField("where it lies", max_length=60, blank=True)
    build = models.ForeignKey(
        Build, null=True, blank=True, on_delete=models.SET_NULL, related_name="movements"
    )
    delivery = models.ForeignKey(
        Delivery, null=True, blank=True, on_delete=models.SET_NULL, related_name="movements"
    )
    why = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL)
    form_token = models.UUIDField(null=True, blank=True, unique=True, editable=False)

    class Meta:
        ordering = ["-at", "-id"]

    def __str__(self) -> str:
        return f"{self.material}: {self.change:+}"


class Offcut(models.Model):
    """A rest of a sheet or a length that is kept, with where it lies; `length_mm` runs along the grain.

    How it came to be so stands in its events; `version` guards what is changed.
    """

    STATES = [("there", "there"), ("used", "used"), ("gone", "thrown out")]
    SIZE = [MinValueValidator(1), MaxValueValidator(LONGEST_MM)]

    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="offcuts")
    length_mm = models.PositiveIntegerField(validators=SIZE)
    width_mm = models.PositiveIntegerField(null=True, blank=True, validators=SIZE)
    lies = models.CharField("where it lies", max_length=60, blank=True)
    state = models.CharField(max_length=6, choices=STATES, default="there")
    cut_for = models.ForeignKey(
        Build, null=True, blank=True, on_delete=models.SET_NULL, related_name="offcuts_left"
    )
    used_for = models.ForeignKey(
        Build, null=True, blank=True, on_delete=models.SET_NULL, related_name="offcuts_used"
    )
    kept_at = models.DateTimeField()
    form_token = models.UUIDField(null=True, blank=True, unique=True, editable=False)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ["material__order", "material__name", "-length_mm", "-width_mm", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(length_mm__gt=0), name="offcut_has_a_length"),
        ]

    def __str__(self) -> str:
        width = f" x {self.width_mm}" if self.width_mm else ""
        return f"{self.material}, {self.length_mm}{width} mm"


class OffcutEvent(models.Model):
    """What was done with an offcut, and what it was from then on."""

    KINDS = [
        ("kept", "kept"),
        ("measured", "measured again"),
        ("moved", "put elsewhere"),
        ("used", "used"),
        ("gone", "thrown out"),
        ("back", "there again"),
    ]

    offcut = models.ForeignKey(Offcut, on_delete=models.CASCADE, related_name="events")
    kind = models.CharField(max_length=8, choices=KINDS)
    length_mm = models.PositiveIntegerField()
    width_mm = models.PositiveIntegerField(null=True, blank=True)
    lies = models.CharField(max_length=60, blank=True)
    why = models.CharField(max_length=200, blank=True)
    build = models.ForeignKey(Build, null=True, blank=True, on_delete=models.SET_NULL)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL)

    class Meta:
        ordering = ["-at", "-id"]

    def __str__(self) -> str:
        return f"{self.offcut}: {self.kind}"
