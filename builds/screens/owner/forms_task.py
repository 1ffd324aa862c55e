"""The forms of a task and its links."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms

from builds.models import Build, Caution, Installation, Place, Task, Trade, Unit

QUARTER = Decimal("0.25")


def _hours(label: str, **more: Any) -> forms.DecimalField:
    return forms.DecimalField(label=label, max_digits=5, decimal_places=2, **more)


class TaskForm(forms.Form):
    """What can be changed of a task. Hours are working hours of the crew as a whole."""

    name = forms.CharField(label="What is done", max_length=120)
    trade_id = forms.ModelChoiceField(
        label="Trade", queryset=Trade.objects.all(), to_field_name="key", empty_label=None
    )
    place_id = forms.ModelChoiceField(
        label="Place", queryset=Place.objects.all(), to_field_name="key", empty_label=None
    )
    crew = forms.IntegerField(label="People at once", min_value=1, max_value=8, initial=1)
    hours_low = _hours("Low hours", required=False, help_text="Empty: three quarters of likely.")
    hours = _hours("Likely hours", min_value=QUARTER, initial=Decimal(1))
    hours_high = _hours("High hours", required=False, help_text="Empty: half as much again.")
    same_day = forms.BooleanField(label="Finishes the day it starts", required=False)
    needs_van = forms.BooleanField(label="Needs the van here", required=False, initial=True)
    claims_van = forms.BooleanField(label="Nobody else works on the van meanwhile", required=False)
    closes_up = forms.BooleanField(label="Closes up what is behind: ask for photos first", required=False)
    dries_here_hours = forms.DecimalField(
        label="Keeps its place to dry", required=False, min_value=0, max_value=2880, decimal_places=2
    )
    rack_hours = forms.DecimalField(
        label="Then on the drying rack", required=False, min_value=0, max_value=2880, decimal_places=2
    )
    materials = forms.CharField(label="To have at hand", max_length=300, required=False)
    reminder = forms.CharField(label="Reminder", max_length=200, required=False)
    caution = forms.ModelChoiceField(
        label="Caution",
        queryset=Caution.objects.all(),
        to_field_name="key",
        required=False,
        empty_label="none",
    )
    customer_sees = forms.BooleanField(
        label="May be named on the customer’s sheet", required=False, initial=True
    )
    version = forms.IntegerField(widget=forms.HiddenInput, required=False)

    @staticmethod
    def of(task: Task) -> TaskForm:
        names = (
            "name", "trade_id", "place_id", "crew", "hours_low", "hours", "hours_high", "same_day",
            "needs_van", "claims_van", "closes_up", "materials", "reminder", "caution", "customer_sees",
            "version",
        )  # fmt: skip
        initial = {name: getattr(task, name) for name in names}
        initial["dries_here_hours"] = _as_hours(task.dries_here_minutes)
        initial["rack_hours"] = _as_hours(task.rack_minutes)
        return TaskForm(initial=initial)

    @property
    def fields_given(self) -> dict[str, Any]:
        """The action's fields by name; low and high hours only where typed."""
        given = dict(self.cleaned_data)
        given.pop("version", None)
        fields = {name: given[name] for name in ("name", "crew", "hours", "materials", "reminder")}
        ticked = ("same_day", "needs_van", "claims_van", "closes_up", "customer_sees")
        fields |= {name: given[name] for name in ticked}
        fields["trade_id"], fields["place_id"] = given["trade_id"].key, given["place_id"].key
        fields["caution"] = given["caution"].key if given["caution"] else ""
        fields["dries_here_minutes"] = round((given["dries_here_hours"] or 0) * 60)
        fields["rack_minutes"] = round((given["rack_hours"] or 0) * 60)
        for name in ("hours_low", "hours_high"):
            if given[name] is not None:
                fields[name] = given[name]
        return fields


def _as_hours(minutes: int) -> str:
    return f"{minutes / 60:g}" if minutes else ""


class NewTaskForm(TaskForm):
    """A task to add, with where it belongs and what it stands between."""

    belongs_to = forms.ChoiceField(label="Belongs to", required=False)
    after = forms.ModelMultipleChoiceField(
        label="After these",
        queryset=Task.objects.none(),
        required=False,
        widget=forms.SelectMultiple(attrs={"size": 8}),
    )
    before = forms.ModelMultipleChoiceField(
        label="Before these",
        queryset=Task.objects.none(),
        required=False,
        widget=forms.SelectMultiple(attrs={"size": 8}),
    )
    unplanned_job = forms.BooleanField(label="A job nobody planned", required=False)
    token = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def __init__(self, *given: Any, build: Build, **more: Any) -> None:
        super().__init__(*given, **more)
        tasks = Task.objects.kept().filter(build=build).select_related("unit", "installation")
        for name in ("after", "before"):
            field = self.fields[name]
            field.queryset = tasks
            field.label_from_instance = lambda task: f"{task.group_name}: {task.name}"
        self._units, self._installations = list(build.units.all()), list(build.installations.all())
        self.fields["belongs_to"].choices = [
            ("", "the van as a whole"),
            *((f"unit-{u.pk}", u.name) for u in self._units),
            *((f"installation-{i.pk}", i.name) for i in self._installations),
        ]

    @property
    def owner(self) -> dict[str, Unit | Installation | None]:
        kind, _, pk = self.cleaned_data["belongs_to"].partition("-")
        rows = {"unit": self._units, "installation": self._installations}.get(kind, [])
        found = next((row for row in rows if str(row.pk) == pk), None)
        return {kind: found} if found else {}


class LinkForm(forms.Form):
    """Another task that this one waits for, or that waits for this one."""

    side = forms.ChoiceField(
        label="Which way", choices=[("before", "this waits for"), ("after", "this comes before")]
    )
    other = forms.ModelChoiceField(label="Task", queryset=Task.objects.none(), empty_label=None)
    wait_hours = forms.DecimalField(
        label="Wait", min_value=0, max_value=2880, required=False, decimal_places=2
    )

    def __init__(self, *given: Any, task: Task, **more: Any) -> None:
        super().__init__(*given, **more)
        rows = Task.objects.kept().filter(build=task.build_id).exclude(pk=task.pk)
        self.fields["other"].queryset = rows.select_related("unit", "installation")
        self.fields["other"].label_from_instance = lambda row: f"{row.group_name}: {row.name}"


class SplitForm(forms.Form):
    first_hours = _hours("Hours of the first part", min_value=QUARTER)
    second_name = forms.CharField(label="Name of the second part", max_length=120, required=False)
    version = forms.IntegerField(widget=forms.HiddenInput, required=False)
