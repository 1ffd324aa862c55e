"""The customer's Friday page: drafted from the week, edited by the owner, frozen when sent."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from .build import Stage
from .evidence import Photo


class ProgressSheet(models.Model):
    """One stage's progress sheet. Once sent, `frozen_html` and `frozen_pdf` are what was sent."""

    DATE_WORDS = [
        ("holds", "The date still holds."),
        ("looking", "We are checking the date and will tell you next Friday."),
        ("moved", "The date has moved; see below."),
    ]

    stage = models.OneToOneField(Stage, on_delete=models.CASCADE, related_name="sheet")
    done = models.TextField("what was done", blank=True, max_length=10000)
    next = models.TextField("what comes next", blank=True, max_length=10000)
    decide = models.TextField("what to decide and by when", blank=True, max_length=10000)
    visit = models.TextField("when to visit", blank=True, max_length=2000)
    date_words = models.CharField(max_length=10, choices=DATE_WORDS, default="holds")
    date_note = models.CharField(max_length=300, blank=True)
    promised_on = models.DateField(null=True, blank=True)
    drafted_at = models.DateTimeField()
    edited_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    frozen_html = models.TextField(blank=True)
    frozen_pdf = models.FileField(upload_to="sheets/", blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(sent_at=None) | ~Q(frozen_html=""), name="sent_sheets_are_frozen"
            )
        ]

    def __str__(self) -> str:
        return f"progress sheet, {self.stage}"


class SheetPhoto(models.Model):
    """A photo on a progress sheet, in order, with its own caption."""

    sheet = models.ForeignKey(ProgressSheet, on_delete=models.CASCADE, related_name="photos")
    photo = models.ForeignKey(Photo, on_delete=models.CASCADE)
    caption = models.CharField(max_length=160, blank=True)
    order = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["order", "id"]
        constraints = [models.UniqueConstraint(fields=["sheet", "photo"], name="one_place_a_photo_and_sheet")]

    def __str__(self) -> str:
        return self.caption
