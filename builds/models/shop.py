"""The shop: one row of settings, its opening hours, and the days it is closed."""

from __future__ import annotations

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

WEEKDAYS = [
    (0, "Monday"),
    (1, "Tuesday"),
    (2, "Wednesday"),
    (3, "Thursday"),
    (4, "Friday"),
    (5, "Saturday"),
    (6, "Sunday"),
]


SIZE_MM = [MinValueValidator(1), MaxValueValidator(20000)]


class Shop(models.Model):
    """The one shop of this database. Every write takes this row first, so that writes queue up."""

    WARMTHS = [("warm", "warm, 20 °C and more"), ("normal", "about 17 °C"), ("cold", "cold, under 14 °C")]
    VAT_LEVELS = [("line", "on each line"), ("invoice", "on the invoice total")]

    id = models.PositiveSmallIntegerField(primary_key=True, default=1)
    name = models.CharField(max_length=80, default="Our workshop")
    zone = models.CharField("time zone", max_length=40, default="Europe/London")
    country = models.CharField("country for public holidays", max_length=2, default="GB")
    subdivision = models.CharField("part of the country", max_length=10, blank=True, default="ENG")
    plannable_share = models.DecimalField(
        "plannable share of a day",
        max_digits=3,
        decimal_places=2,
        default=Decimal("0.80"),
        validators=[MinValueValidator(Decimal("0.30")), MaxValueValidator(Decimal("1.00"))],
    )
    move_minutes = models.PositiveSmallIntegerField(
        "minutes to move a van", default=30, validators=[MaxValueValidator(480)]
    )
    warmth = models.CharField("how warm the shop is", max_length=8, choices=WARMTHS, default="normal")
    currency = models.CharField(max_length=3, default="GBP")
    vat_percent = models.DecimalField(
        "VAT rate",
        max_digits=4,
        decimal_places=2,
        default=Decimal("20.00"),
        validators=[MinValueValidator(0)],
    )
    vat_level = models.CharField("VAT reckoned", max_length=8, choices=VAT_LEVELS, default="line")
    order_margin_days = models.PositiveSmallIntegerField("days of margin before first use", default=3)
    offcut_least_length_mm = models.PositiveIntegerField(
        "shortest offcut of a sheet worth keeping, along its longer side", default=400, validators=SIZE_MM
    )
    offcut_least_width_mm = models.PositiveIntegerField(
        "narrowest offcut of a sheet worth keeping", default=150, validators=SIZE_MM
    )
    offcut_least_run_mm = models.PositiveIntegerField(
        "shortest offcut of a length worth keeping", default=500, validators=SIZE_MM
    )
    saw_kerf_tenths = models.PositiveIntegerField(
        "width of the saw cut, tenths of a mm", default=30, validators=[MaxValueValidator(200)]
    )
    sheet_trim_tenths = models.PositiveIntegerField(
        "trimmed off each edge of a sheet, tenths of a mm", default=100, validators=[MaxValueValidator(1000)]
    )
    told_monday = models.DateField(null=True, blank=True)
    revision = models.PositiveBigIntegerField(default=1)
    planned_revision = models.PositiveBigIntegerField(default=0)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(id=1), name="one_shop_per_database"),
            models.CheckConstraint(
                condition=Q(plannable_share__gte=Decimal("0.3"), plannable_share__lte=1),
                name="plannable_share_is_a_share",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def plan_is_stale(self) -> bool:
        return self.planned_revision != self.revision

    @property
    def plan_tag(self) -> str:
        """Changes whenever the plan or what it is made of does."""
        return f"{self.revision}-{self.planned_revision}"


class OpeningSpan(models.Model):
    """One stretch of opening time on one weekday; the gaps between are breaks."""

    weekday = models.PositiveSmallIntegerField(choices=WEEKDAYS)
    opens = models.TimeField()
    closes = models.TimeField()

    class Meta:
        ordering = ["weekday", "opens"]
        constraints = [
            models.CheckConstraint(condition=Q(closes__gt=F("opens")), name="opening_span_runs_forward"),
            models.UniqueConstraint(fields=["weekday", "opens"], name="one_opening_span_a_start"),
        ]

    def __str__(self) -> str:
        return f"{self.get_weekday_display()} {self.opens:%H:%M} to {self.closes:%H:%M}"


class ClosedDay(models.Model):
    """A day the shop is shut; or, with `works_anyway`, a public holiday on which it is open after all."""

    date = models.DateField(unique=True)
    reason = models.CharField(max_length=80, blank=True)
    works_anyway = models.BooleanField("open after all", default=False)

    class Meta:
        ordering = ["date"]

    def __str__(self) -> str:
        return f"{self.date} {self.reason}"
