"""Orders: what is asked of one supplier or of one customer, for which vans, and what came of it."""

from __future__ import annotations

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from .build import Build
from .material import NOT_NEGATIVE, Material, Supplier
from .shop import Shop


class Order(models.Model):
    """What is asked of a supplier at one time, or of the customer of `build`, who brings it without a price.

    A draft can be changed and has moved nothing; sent, it is frozen as HTML and PDF and its deliveries
    are expected. How VAT is reckoned is stored with it.
    """

    STATES = [("draft", "not sent yet"), ("sent", "sent"), ("dropped", "called off")]

    number = models.PositiveIntegerField(unique=True)
    supplier = models.ForeignKey(
        Supplier, null=True, blank=True, on_delete=models.PROTECT, related_name="orders"
    )
    build = models.ForeignKey(
        Build, null=True, blank=True, on_delete=models.CASCADE, related_name="asked_of_customer"
    )
    state = models.CharField(max_length=8, choices=STATES, default="draft")
    vat_level = models.CharField(max_length=8, choices=Shop.VAT_LEVELS, default="line")
    note = models.CharField("note on the order", max_length=300, blank=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL)
    sent_on = models.DateField(null=True, blank=True)
    expected_on = models.DateField(null=True, blank=True)
    frozen_html = models.TextField(blank=True)
    frozen_pdf = models.FileField(upload_to="orders/", blank=True)
    form_token = models.UUIDField(null=True, blank=True, unique=True, editable=False)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.CheckConstraint(
                condition=Q(supplier=None, build__isnull=False) | Q(supplier__isnull=False, build=None),
                name="order_is_of_a_supplier_or_a_customer",
            ),
            models.CheckConstraint(
                condition=~Q(state="sent") | Q(sent_on__isnull=False), name="sent_orders_have_their_day"
            ),
        ]

    def __str__(self) -> str:
        return f"Order {self.number}"


class OrderLine(models.Model):
    """So many packs of one material; name, number, pack, price and VAT as they were when it was ordered."""

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="lines")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="order_lines")
    name = models.CharField(max_length=80)
    code = models.CharField(max_length=40, blank=True)
    packs = models.PositiveIntegerField(validators=[MinValueValidator(1), MaxValueValidator(10000)])
    pack = models.DecimalField(max_digits=9, decimal_places=3, default=Decimal(1))
    price = models.DecimalField(max_digits=9, decimal_places=2, default=0, validators=NOT_NEGATIVE)
    vat_percent = models.DecimalField(max_digits=4, decimal_places=2, default=Decimal("20.00"))

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["order", "material"], name="one_line_a_material_and_order"),
            models.CheckConstraint(condition=Q(packs__gt=0), name="an_order_line_asks_for_something"),
        ]

    def __str__(self) -> str:
        return f"{self.packs} x {self.name}"

    @property
    def quantity(self) -> Decimal:
        return self.packs * self.pack


class OrderShare(models.Model):
    """How much of a line is for one van; what packs hold beyond all shares goes into stock."""

    line = models.ForeignKey(OrderLine, on_delete=models.CASCADE, related_name="shares")
    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="order_shares")
    quantity = models.DecimalField(max_digits=12, decimal_places=3)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["line", "build"], name="one_share_a_van_and_line"),
            models.CheckConstraint(condition=Q(quantity__gt=0), name="a_share_is_something"),
        ]

    def __str__(self) -> str:
        return f"{self.build}: {self.quantity} of {self.line}"


class Receipt(models.Model):
    """What one person booked in of a line at one time, in packs. Taken back, it stays on record.

    `missing` packs don't come any more; `damaged` ones came and are of no use.
    """

    line = models.ForeignKey(OrderLine, on_delete=models.CASCADE, related_name="receipts")
    came_on = models.DateField()
    good = models.PositiveIntegerField(default=0)
    damaged = models.PositiveIntegerField(default=0)
    missing = models.PositiveIntegerField(default=0)
    note = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL)
    taken_back_at = models.DateTimeField(null=True, blank=True)
    form_token = models.UUIDField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["line", "form_token"], name="one_booking_a_form_and_line"),
            models.CheckConstraint(
                condition=Q(good__gt=0) | Q(damaged__gt=0) | Q(missing__gt=0), name="a_receipt_says_something"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.good} of {self.line}"


class PriceList(models.Model):
    """A supplier's prices and lead times as a file: looked at first, then taken whole or not at all.

    `changes` holds what taking it changed: material, field, before, after.
    """

    supplier = models.ForeignKey(Supplier, on_delete=models.CASCADE, related_name="price_lists")
    file_name = models.CharField(max_length=120, blank=True)
    text = models.TextField(max_length=500000)
    read_at = models.DateTimeField()
    read_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    taken_at = models.DateTimeField(null=True, blank=True)
    taken_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    changes = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ["-read_at", "-id"]

    def __str__(self) -> str:
        return f"{self.supplier}: {self.file_name or 'prices'}"
