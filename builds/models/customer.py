"""The customer, and the private link to their page."""

from __future__ import annotations

from django.db import models


class Customer(models.Model):
    name = models.CharField(max_length=80)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=30, blank=True)
    address = models.TextField(blank=True, max_length=400)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class CustomerLink(models.Model):
    """An unguessable address of one build's page. Only the hash is kept; withdrawing is final."""

    build = models.ForeignKey("builds.Build", on_delete=models.CASCADE, related_name="customer_links")
    token_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    last_opened_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-made_at"]

    def __str__(self) -> str:
        return f"link to {self.build} of {self.made_at:%d %b %Y}"


class Decision(models.Model):
    """Something the customer must choose by a date; tasks may wait for it."""

    build = models.ForeignKey("builds.Build", on_delete=models.CASCADE, related_name="decisions")
    what = models.CharField(max_length=160)
    needed_by = models.DateField()
    decided_on = models.DateField(null=True, blank=True)
    answer = models.CharField(max_length=200, blank=True)
    tasks = models.ManyToManyField("builds.Task", blank=True, related_name="decisions")

    class Meta:
        ordering = ["needed_by"]

    def __str__(self) -> str:
        return self.what


class Variation(models.Model):
    """A change to what was ordered, with what it costs and when the customer agreed."""

    build = models.ForeignKey("builds.Build", on_delete=models.CASCADE, related_name="variations")
    what = models.CharField(max_length=160)
    price_change = models.DecimalField(max_digits=10, decimal_places=2, default=0)
    agreed_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return self.what
