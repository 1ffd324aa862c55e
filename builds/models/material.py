"""What is bought: suppliers, materials, what each build needs of them, and what is on its way."""

from __future__ import annotations

from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from builds.engines.material.threads import THREADS

from .build import Build
from .task import Task
from .unit import Installation, Unit

NOT_NEGATIVE = [MinValueValidator(0)]


class Supplier(models.Model):
    name = models.CharField(max_length=80, unique=True)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=30, blank=True)
    lead_days = models.PositiveSmallIntegerField("usual lead time, days", default=7)
    minimum_order = models.DecimalField(max_digits=8, decimal_places=2, default=0, validators=NOT_NEGATIVE)
    notes = models.TextField(blank=True, max_length=2000)
    withdrawn = models.BooleanField(default=False)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Material(models.Model):
    """Something bought. `form` says how it is counted; `unit` is the Pint unit of its quantities."""

    FORMS = [
        ("sheet", "sheets"),
        ("length", "lengths"),
        ("area", "areas"),
        ("liquid", "litres"),
        ("cartridge", "cartridges"),
        ("mass", "by mass"),
        ("piece", "pieces"),
    ]
    UNITS = [
        ("piece", "piece"),
        ("m", "m"),
        ("m**2", "m²"),
        ("litre", "litre"),
        ("ml", "ml"),
        ("kg", "kg"),
    ]

    key = models.SlugField(unique=True, max_length=40)
    name = models.CharField(max_length=80)
    form = models.CharField(max_length=10, choices=FORMS, default="piece")
    unit = models.CharField(max_length=8, choices=UNITS, default="piece")
    pack = models.DecimalField(
        "one pack holds",
        max_digits=9,
        decimal_places=3,
        default=Decimal(1),
        validators=[MinValueValidator(Decimal("0.001"))],
    )
    price = models.DecimalField(
        "price of a pack, without VAT", max_digits=9, decimal_places=2, default=0, validators=NOT_NEGATIVE
    )
    vat_percent = models.DecimalField(max_digits=4, decimal_places=2, default=Decimal("20.00"))
    supplier = models.ForeignKey(
        Supplier, null=True, blank=True, on_delete=models.SET_NULL, related_name="materials"
    )
    lead_days = models.PositiveSmallIntegerField("lead time, days", null=True, blank=True)
    code = models.CharField("supplier's number for it", max_length=40, blank=True)
    least_packs = models.PositiveSmallIntegerField(
        "fewest packs in an order", default=1, validators=[MinValueValidator(1)]
    )
    reorder_level = models.DecimalField(
        "order more when less than this is free",
        max_digits=9,
        decimal_places=3,
        null=True,
        blank=True,
        validators=NOT_NEGATIVE,
    )
    top_up_to = models.DecimalField(
        "then order up to", max_digits=9, decimal_places=3, null=True, blank=True, validators=NOT_NEGATIVE
    )
    thread = models.CharField(
        "thread it is joined by",
        max_length=10,
        blank=True,
        choices=[(thread.key, thread.name) for thread in THREADS],
    )
    length_mm = models.PositiveIntegerField(null=True, blank=True)
    width_mm = models.PositiveIntegerField(null=True, blank=True)
    thickness_mm = models.DecimalField(max_digits=5, decimal_places=1, null=True, blank=True)
    density_kg_m3 = models.PositiveIntegerField(null=True, blank=True)
    unit_mass_kg = models.DecimalField(
        "mass of one unit, kg", max_digits=8, decimal_places=3, null=True, blank=True
    )
    spread_m2_per_litre = models.DecimalField(max_digits=5, decimal_places=1, null=True, blank=True)
    coats = models.PositiveSmallIntegerField(null=True, blank=True)
    expands = models.DecimalField(
        "times its volume once out", max_digits=5, decimal_places=1, null=True, blank=True
    )
    waste_percent = models.DecimalField(
        max_digits=4, decimal_places=1, default=Decimal("0.0"), validators=NOT_NEGATIVE
    )
    rule = models.CharField("how it is reckoned", max_length=160, blank=True)
    basis = models.CharField(max_length=240, blank=True)
    withdrawn = models.BooleanField(default=False)
    order = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["order", "name"]

    def __str__(self) -> str:
        return self.name


class StandardNeed(models.Model):
    """What a kind of unit, an installation or a standard task needs of a material, and by which rule.

    `owner` is "unit:<kind>", "installation:<kind>", "task:<key>" or "van"; `per` names the measure
    that `quantity` is multiplied by, as the material engine knows them. Of a bead, a run with a section,
    `quantity` is how often it is laid.
    """

    owner = models.CharField(max_length=60)
    material = models.ForeignKey(Material, to_field="key", on_delete=models.CASCADE)
    quantity = models.DecimalField(max_digits=9, decimal_places=3)
    per = models.CharField(max_length=40)
    section_mm2 = models.DecimalField(
        "section of a bead, mm²", max_digits=8, decimal_places=1, null=True, blank=True
    )
    used_in = models.CharField("first used in task", max_length=40, blank=True)
    rule = models.CharField(max_length=160, blank=True)
    basis = models.CharField(max_length=240, blank=True)
    order = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["order", "id"]

    def __str__(self) -> str:
        return f"{self.owner}: {self.material_id}"


class Need(models.Model):
    """What one build needs of one material, copied from the standard or typed in."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="needs")
    unit = models.ForeignKey(Unit, null=True, blank=True, on_delete=models.CASCADE, related_name="needs")
    installation = models.ForeignKey(
        Installation, null=True, blank=True, on_delete=models.CASCADE, related_name="needs"
    )
    task = models.ForeignKey(Task, null=True, blank=True, on_delete=models.SET_NULL, related_name="needs")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="needs")
    quantity = models.DecimalField(max_digits=12, decimal_places=3, validators=NOT_NEGATIVE)
    waste_percent = models.DecimalField(max_digits=4, decimal_places=1, default=0)
    rule = models.CharField(max_length=200, blank=True)
    used_in = models.CharField(max_length=40, blank=True)
    is_typed = models.BooleanField("typed in, not reckoned", default=False)
    form_token = models.UUIDField(null=True, blank=True, unique=True, editable=False)
    customer_supplies = models.BooleanField(default=False)

    class Meta:
        ordering = ["id"]
        constraints = [models.CheckConstraint(condition=Q(quantity__gte=0), name="need_is_not_negative")]

    def __str__(self) -> str:
        return f"{self.build}: {self.quantity} of {self.material}"


class Delivery(models.Model):
    """Something on its way for one build; `tasks` can't start before it is here.

    "Arrived" and "found and on the kit shelf" are two things: the second is what a fitter sees.
    """

    build = models.ForeignKey(
        Build, null=True, blank=True, on_delete=models.CASCADE, related_name="deliveries"
    )
    supplier = models.ForeignKey(Supplier, null=True, blank=True, on_delete=models.SET_NULL)
    material = models.ForeignKey(Material, null=True, blank=True, on_delete=models.SET_NULL)
    what = models.CharField(max_length=120)
    quantity = models.DecimalField(max_digits=10, decimal_places=3, null=True, blank=True)
    expected_on = models.DateField()
    first_expected_on = models.DateField(null=True, blank=True)
    arrived_on = models.DateField(null=True, blank=True)
    line = models.ForeignKey(
        "OrderLine", null=True, blank=True, on_delete=models.SET_NULL, related_name="deliveries"
    )
    receipt = models.ForeignKey(
        "Receipt", null=True, blank=True, on_delete=models.SET_NULL, related_name="deliveries"
    )
    on_shelf_on = models.DateField("found and on the kit shelf", null=True, blank=True)
    from_customer = models.BooleanField("customer brings it", default=False)
    note = models.CharField(max_length=200, blank=True)
    tasks = models.ManyToManyField(Task, blank=True, related_name="deliveries")
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ["expected_on", "id"]
        verbose_name_plural = "deliveries"

    def __str__(self) -> str:
        return self.what
