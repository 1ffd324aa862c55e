"""What proves the work: hold points and their checks, photos, notes, snags, filed papers."""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import Q

from .build import Build
from .people import Person, User
from .task import Task
from .unit import Installation, Unit


class HoldPoint(models.Model):
    """A check that must pass, on record, before its task's followers may start."""

    STATES = [
        ("due", "due"),
        ("passed", "passed"),
        ("failed", "failed"),
        ("overruled", "overruled"),
        ("reopened", "to be checked again"),
    ]

    task = models.OneToOneField(Task, on_delete=models.CASCADE, related_name="hold_point")
    kind = models.SlugField(max_length=30)
    name = models.CharField(max_length=80)
    licensed_trade = models.SlugField(max_length=30, blank=True)
    may_overrule = models.BooleanField(default=True)
    certificate_due = models.BooleanField(default=False)
    photo_wanted = models.BooleanField(default=False)
    caution = models.SlugField(max_length=30, blank=True)
    fields = models.JSONField(default=list, blank=True)
    state = models.CharField(max_length=10, choices=STATES, default="due")
    competent_person = models.CharField(max_length=120, blank=True)
    certificate = models.CharField("certificate reference", max_length=120, blank=True)
    changed_at = models.DateTimeField(null=True, blank=True)
    """When what it tests was last changed: a signature made before that, on a tablet, counts no more."""

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~Q(state="overruled") | Q(may_overrule=True), name="only_some_checks_overruled"
            ),
            models.CheckConstraint(
                condition=Q(licensed_trade="") | Q(may_overrule=False),
                name="licensed_checks_never_overruled",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def lets_followers_start(self) -> bool:
        return self.state in ("passed", "overruled")


class CheckRecord(models.Model):
    """One pass, fail, overrule or reopening of a hold point, with its readings. Never changed."""

    hold_point = models.ForeignKey(HoldPoint, on_delete=models.CASCADE, related_name="records")
    outcome = models.CharField(max_length=10)
    readings = models.JSONField(default=dict, blank=True)
    remarks = models.JSONField(default=list, blank=True)
    note = models.CharField(max_length=400, blank=True)
    person = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    user = models.ForeignKey(User, null=True, on_delete=models.PROTECT)
    competent_person = models.CharField(max_length=120, blank=True)
    certificate = models.CharField(max_length=120, blank=True)
    at = models.DateTimeField()

    class Meta:
        ordering = ["-at", "-id"]

    def __str__(self) -> str:
        return f"{self.hold_point} {self.outcome}"


PLACES_IN_VAN = (
    "Floor",
    "Left wall, front",
    "Left wall, rear",
    "Right wall, front",
    "Right wall, rear",
    "Roof, front",
    "Roof, rear",
    "Bulkhead",
    "Sliding door",
    "Rear doors",
    "Under the van",
    "Cab",
)
"""Where a photo is taken, as a fitter would say it; left and right as one sits. Any other may be typed."""


WITHOUT_A_PLATE = {
    "floor", "insulation", "lining", "side_windows", "upholstery", "graphics", "body_change", "waste"
}  # fmt: skip
"""Kinds of installation that bear no maker's plate, so nobody is offered to type one at their work; on the
van's page their papers can be filed all the same. Common practice, no source."""


def photo_path(photo: Photo, _name: str) -> str:
    return f"photos/{photo.build_id}/{photo.uuid}.jpg"


def thumb_path(photo: Photo, _name: str) -> str:
    return f"photos/{photo.build_id}/{photo.uuid}-small.jpg"


class Photo(models.Model):
    """A picture of the work: upright, downscaled, without metadata; served only through views."""

    uuid = models.UUIDField(unique=True, default=uuid.uuid4)
    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="photos")
    task = models.ForeignKey(Task, null=True, blank=True, on_delete=models.SET_NULL, related_name="photos")
    unit = models.ForeignKey(Unit, null=True, blank=True, on_delete=models.SET_NULL, related_name="photos")
    hold_point = models.ForeignKey(
        HoldPoint, null=True, blank=True, on_delete=models.SET_NULL, related_name="photos"
    )
    person = models.ForeignKey(Person, null=True, blank=True, on_delete=models.SET_NULL)
    file = models.ImageField(upload_to=photo_path)
    thumb = models.ImageField(upload_to=thumb_path)
    width_px = models.PositiveIntegerField(default=0)
    height_px = models.PositiveIntegerField(default=0)
    caption = models.CharField(max_length=160, blank=True)
    behind = models.CharField("where in the van", max_length=80, blank=True)
    for_customer = models.BooleanField(default=True)
    taken_at = models.DateTimeField()

    class Meta:
        ordering = ["-taken_at", "-id"]

    def __str__(self) -> str:
        return self.caption or f"photo of {self.taken_at:%d %b}"


class Note(models.Model):
    """A few words from the floor or the office; `for_customer` may go on the progress sheet."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="note_rows")
    task = models.ForeignKey(Task, null=True, blank=True, on_delete=models.SET_NULL, related_name="note_rows")
    text = models.TextField(max_length=10000)
    for_customer = models.BooleanField(default=False)
    person = models.ForeignKey(Person, null=True, blank=True, on_delete=models.SET_NULL)
    user = models.ForeignKey(User, null=True, blank=True, on_delete=models.SET_NULL)
    at = models.DateTimeField()

    class Meta:
        ordering = ["-at", "-id"]

    def __str__(self) -> str:
        return self.text[:60]


class Snag(models.Model):
    """Something to put right."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="snags")
    task = models.ForeignKey(Task, null=True, blank=True, on_delete=models.SET_NULL, related_name="snags")
    hold_point = models.ForeignKey(
        HoldPoint, null=True, blank=True, on_delete=models.SET_NULL, related_name="snags"
    )
    text = models.CharField(max_length=400)
    person = models.ForeignKey(Person, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField()
    put_right_at = models.DateTimeField(null=True, blank=True)
    put_right_by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        ordering = [models.F("put_right_at").asc(nulls_first=True), "-at", "-id"]

    def __str__(self) -> str:
        return self.text[:60]


def paper_path(paper: FiledPaper, _name: str) -> str:
    return f"papers/{paper.build_id}/{paper.uuid}.{'pdf' if paper.is_pdf else 'jpg'}"


class FiledPaper(models.Model):
    """A serial number, a photo of a plate or a PDF, filed against an installation or a hold point.

    What was filed by mistake is withdrawn, never deleted.
    """

    uuid = models.UUIDField(unique=True, default=uuid.uuid4)
    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="papers")
    installation = models.ForeignKey(
        Installation, null=True, blank=True, on_delete=models.SET_NULL, related_name="papers"
    )
    hold_point = models.ForeignKey(
        HoldPoint, null=True, blank=True, on_delete=models.SET_NULL, related_name="papers"
    )
    title = models.CharField(max_length=120)
    serial_number = models.CharField(max_length=80, blank=True)
    is_pdf = models.BooleanField(default=False)
    file = models.FileField(upload_to=paper_path, blank=True)
    person = models.ForeignKey(Person, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    user = models.ForeignKey(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-at", "-id"]

    def __str__(self) -> str:
        return self.title
