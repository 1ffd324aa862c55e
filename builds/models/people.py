"""Who works here: people with trades, hours and absences; and who may sign in."""

from __future__ import annotations

from django.contrib.auth.hashers import check_password, make_password
from django.contrib.auth.models import AbstractUser
from django.db import models
from django.db.models import F, Q

from .shop import WEEKDAYS


class User(AbstractUser):
    """Somebody who signs in with a password: an owner or the office. Fitters use a paired tablet."""

    def __str__(self) -> str:
        return self.get_full_name() or self.username


class Trade(models.Model):
    """A trade that leads tasks. Licensed trades need a named competent person before work starts."""

    key = models.SlugField(unique=True, max_length=30)
    name = models.CharField(max_length=40)
    licensed = models.BooleanField("needs a named competent person", default=False)
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["position", "name"]

    def __str__(self) -> str:
        return self.name


class PersonQuerySet(models.QuerySet):
    def working(self) -> PersonQuerySet:
        return self.filter(left_on=None)

    def visitors(self) -> PersonQuerySet:
        return self.filter(is_visitor=True)


class Person(models.Model):
    """A fitter, the owner at the bench, an apprentice, or a tradesperson who visits."""

    name = models.CharField(max_length=60)
    trades = models.ManyToManyField(Trade, blank=True, related_name="people")
    helps = models.BooleanField("lends a hand in other trades", default=True)
    is_apprentice = models.BooleanField("apprentice: helps, never leads or works alone", default=False)
    is_visitor = models.BooleanField("visits on booked days, does their own trade only", default=False)
    competence = models.CharField("registration or competence on record", max_length=120, blank=True)
    user = models.OneToOneField(User, null=True, blank=True, on_delete=models.SET_NULL, related_name="person")
    pin_hash = models.CharField(max_length=160, blank=True, editable=False)
    pin_changed_at = models.DateTimeField(null=True, blank=True, editable=False)
    left_on = models.DateField("left on", null=True, blank=True)
    position = models.PositiveSmallIntegerField(default=0)

    objects = PersonQuerySet.as_manager()

    class Meta:
        ordering = ["position", "name"]
        verbose_name_plural = "people"

    def __str__(self) -> str:
        return self.name

    def set_pin(self, pin: str) -> None:
        self.pin_hash = make_password(pin)

    def pin_is(self, pin: str) -> bool:
        return bool(self.pin_hash) and check_password(pin, self.pin_hash)


class PersonHours(models.Model):
    """A stretch of one person's own week. A person with none works the shop's opening hours."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="hours")
    weekday = models.PositiveSmallIntegerField(choices=WEEKDAYS)
    starts = models.TimeField()
    ends = models.TimeField()

    class Meta:
        ordering = ["weekday", "starts"]
        constraints = [
            models.CheckConstraint(condition=Q(ends__gt=F("starts")), name="person_hours_run_forward"),
            models.UniqueConstraint(
                fields=["person", "weekday", "starts"], name="one_span_a_start_and_person"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person} {self.get_weekday_display()} {self.starts:%H:%M} to {self.ends:%H:%M}"


class Absence(models.Model):
    """Away from the first to the last day; with times, away between them on those days."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="absences")
    first_day = models.DateField()
    last_day = models.DateField()
    from_time = models.TimeField(null=True, blank=True)
    to_time = models.TimeField(null=True, blank=True)
    reason = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering = ["first_day", "person"]
        constraints = [
            models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="absence_runs_forward"),
            models.CheckConstraint(
                condition=Q(from_time=None, to_time=None)
                | Q(from_time__isnull=False, to_time__isnull=False, to_time__gt=F("from_time")),
                name="part_day_absence_has_both_times",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person} away {self.first_day} to {self.last_day}"


class VisitDay(models.Model):
    """A day a visiting tradesperson is booked for."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="visit_days")
    date = models.DateField()
    note = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering = ["date"]
        constraints = [models.UniqueConstraint(fields=["person", "date"], name="one_visit_a_day")]

    def __str__(self) -> str:
        return f"{self.person} on {self.date}"


class Tablet(models.Model):
    """A shared tablet on the floor, paired once by an owner and withdrawn at once if lost."""

    name = models.CharField(max_length=40)
    code_hash = models.CharField(max_length=64, blank=True)
    code_expires_at = models.DateTimeField(null=True, blank=True)
    token_hash = models.CharField(max_length=64, blank=True, db_index=True)
    paired_at = models.DateTimeField(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    last_seen_at = models.DateTimeField(null=True, blank=True)
    last_sequence = models.PositiveBigIntegerField(default=0)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    @property
    def is_paired(self) -> bool:
        return bool(self.token_hash) and self.withdrawn_at is None


class CalendarLink(models.Model):
    """An unguessable address of one calendar: a person's, or the shop's dates where there is no person.

    Only the hash is kept; withdrawing is final.
    """

    person = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.CASCADE, related_name="calendar_links"
    )
    token_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    last_opened_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-made_at", "-id"]

    def __str__(self) -> str:
        return f"calendar of {self.person or 'the shop'}"
