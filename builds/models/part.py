"""What a unit is cut into: its parts, and the choices they were derived from.

Lengths are whole tenths of a millimetre. A part's sizes are as it is cut, its scribe allowance in them.
"""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from .material import Material
from .unit import Unit


class Making(models.Model):
    """How a unit is made: boards, back, plinth, shelves and fronts, from which its parts follow.

    A board left out falls back to the one its kind is usually made of.
    """

    FRONTS = [("none", "open"), ("plain", "plain boards"), ("framed", "boards with a frame of strips")]
    HINGES = [
        ("left", "left"),
        ("right", "right"),
        ("pairs", "in pairs"),
        ("top", "top"),
        ("bottom", "bottom"),
    ]
    GRAINS = [("across", "across, through the row"), ("up", "up")]
    INSIDES = [("shelves", "shelves"), ("rail", "a rail")]

    unit = models.OneToOneField(Unit, on_delete=models.CASCADE, related_name="making")
    board = models.ForeignKey(Material, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    back_board = models.ForeignKey(
        Material, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    front_board = models.ForeignKey(
        Material, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    strip = models.ForeignKey(Material, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    has_back = models.BooleanField(default=True)
    plinth_tenths = models.PositiveIntegerField("plinth, height", default=0)
    inside = models.CharField(max_length=8, choices=INSIDES, default="shelves")
    bays = models.PositiveSmallIntegerField("bays side by side", default=1)
    shelves = models.PositiveSmallIntegerField("shelves in a bay", default=0)
    fronts = models.CharField(max_length=8, choices=FRONTS, default="plain")
    doors = models.PositiveSmallIntegerField(default=0)
    drawers = models.PositiveSmallIntegerField(default=0)
    hinges = models.CharField(max_length=8, choices=HINGES, default="left")
    front_grain = models.CharField("grain of the fronts", max_length=6, choices=GRAINS, default="up")
    gap_tenths = models.PositiveIntegerField("gap between fronts", default=20)
    drawer_front_tenths = models.PositiveIntegerField("height of a drawer over doors", default=1600)
    strip_width_tenths = models.PositiveIntegerField("width of a frame's uprights", default=400)
    rail_width_tenths = models.PositiveIntegerField("width of a frame's rails", default=400)
    scribe_tenths = models.PositiveIntegerField("scribe allowance", default=100)
    hinge_from_tenths = models.PositiveIntegerField("outer hinges from the ends of a door", default=1000)
    handle_from_tenths = models.PositiveIntegerField("handles from the edges of a door", default=400)
    handle_height_tenths = models.PositiveIntegerField("handles of tall doors, height", default=10000)
    wall_back = models.BooleanField("its back meets the van's wall", default=True)
    wall_left = models.BooleanField("its left end meets the van's wall", default=False)
    wall_right = models.BooleanField("its right end meets the van's wall", default=False)
    version = models.PositiveIntegerField(default=1)

    def __str__(self) -> str:
        return f"how {self.unit} is made"


class StandingParts(models.Manager):
    """Leaves out what the owner removed; those rows stay, so that deriving again does not bring them back."""

    def get_queryset(self) -> models.QuerySet:
        return super().get_queryset().filter(is_removed=False)


class Part(models.Model):
    """`count` equal cut pieces of one unit. `objects` are those that stand, `ever` all of them.

    As a part lies on the saw its length runs from left to right, so its edges are "near" and "far" along
    the length, "left" and "right" across it. With grain "along" the length follows the board's grain.
    Parts with the same `run` are cut side by side from one strip in the order of `run_place`.
    `key` is stable: deriving again finds the same part by it.
    """

    GRAINS = [("along", "along its length"), ("any", "any way")]
    EDGES = [("near", "near"), ("far", "far"), ("left", "left end"), ("right", "right end")]

    unit = models.ForeignKey(Unit, on_delete=models.CASCADE, related_name="parts")
    key = models.CharField(max_length=60)
    name = models.CharField(max_length=80)
    count = models.PositiveSmallIntegerField(
        default=1, validators=[MinValueValidator(1), MaxValueValidator(999)]
    )
    length_tenths = models.PositiveIntegerField("length")
    width_tenths = models.PositiveIntegerField("width")
    thickness_tenths = models.PositiveIntegerField("thickness", validators=[MinValueValidator(1)])
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="parts")
    grain = models.CharField(max_length=5, choices=GRAINS, default="along")
    finished_edges = models.JSONField("edges to finish", default=list, blank=True)
    scribe_tenths = models.PositiveIntegerField("scribe allowance", default=0)
    scribe_edges = models.JSONField("edges with a scribe allowance", default=list, blank=True)
    run = models.CharField("cut from one strip with", max_length=40, blank=True)
    run_place = models.PositiveSmallIntegerField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)
    by_hand = models.BooleanField("added by hand, not derived", default=False)
    is_changed = models.BooleanField("changed by the owner", default=False)
    is_removed = models.BooleanField(default=False)
    form_token = models.UUIDField(null=True, blank=True, unique=True, editable=False)
    order = models.PositiveSmallIntegerField(default=0)
    version = models.PositiveIntegerField(default=1)

    objects = StandingParts()
    ever = models.Manager()

    class Meta:
        ordering = ["order", "id"]
        constraints = [
            models.UniqueConstraint(fields=["unit", "key"], name="one_part_a_key_and_unit"),
            models.CheckConstraint(
                condition=Q(count__gte=1, length_tenths__gte=1, width_tenths__gte=1, thickness_tenths__gte=1),
                name="a_part_has_sizes",
            ),
        ]

    def __str__(self) -> str:
        return self.name
