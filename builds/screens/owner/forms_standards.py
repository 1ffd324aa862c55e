"""The forms of the standard library: tasks, links, kinds."""

from __future__ import annotations

from django import forms

from builds.actions.standard_kinds import INSTALLATION_FIELDS, UNIT_FIELDS
from builds.actions.standards import LINK_FIELDS, TASK_FIELDS, Joined
from builds.models import (
    Caution,
    InstallationKind,
    Place,
    StandardHoldPoint,
    StandardLink,
    StandardTask,
    Trade,
    UnitKind,
)
from builds.queries.standards import scope_choices

from .keeping import KeptRecordForm

LINK_ROWS = (1, 2)


class HaveAtHand(forms.CharField):
    """A list kept as JSON, typed as words between commas."""

    def prepare_value(self, value) -> str:
        return ", ".join(value) if isinstance(value, list) else value or ""

    def clean(self, value) -> list[str]:
        return [word.strip() for word in super().clean(value).split(",") if word.strip()]


class StandardTaskForm(KeptRecordForm):
    trade = forms.ChoiceField(label="Trade of the lead")
    place = forms.ChoiceField(label="Place")
    caution = forms.ChoiceField(label="Caution shown with it", required=False)
    materials = HaveAtHand(
        label="To have at hand", required=False, max_length=300, help_text="with commas between"
    )

    groups = (
        ("The work", ("name", "phase", "trade", "place", "crew")),
        ("Working hours of the crew", ("hours_low", "hours_likely", "hours_high", "scaled")),
        (
            "How it binds",
            ("same_day", "needs_van", "claims_van", "closes_up", "dries_here_hours", "rack_hours"),
        ),
        ("What is said with it", ("reminder", "caution", "materials", "why")),
    )
    units = {
        "crew": "people",
        "hours_low": "h",
        "hours_likely": "h",
        "hours_high": "h",
        "dries_here_hours": "h",
        "rack_hours": "h",
    }

    class Meta:
        model = StandardTask
        fields = TASK_FIELDS
        labels = {
            "crew": "People at once",
            "hours_low": "Low",
            "hours_likely": "Likely",
            "hours_high": "High",
            "same_day": "Finishes the day it starts",
            "needs_van": "Needs the van here",
            "claims_van": "Nobody else works on the van meanwhile",
            "closes_up": "Closes up what is behind: ask for photos first",
            "dries_here_hours": "Then dries at the place",
            "rack_hours": "Then lies on the drying rack",
            "why": "Why it is done",
        }

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["trade"].choices = list(Trade.objects.values_list("key", "name"))
        self.fields["place"].choices = list(Place.objects.values_list("key", "name"))
        cautions = [(key, key.replace("_", " ")) for key in Caution.objects.values_list("key", flat=True)]
        self.fields["caution"].choices = [("", "none"), *cautions]


class NewTaskForm(StandardTaskForm):
    """A standard task with what it comes after and before; further links are added on its page."""

    scope = forms.ChoiceField(label="It comes")
    hold_point = forms.ChoiceField(label="Check that ends it", required=False)

    groups = (
        ("The work", ("name", "scope", "phase", "trade", "place", "crew")),
        *StandardTaskForm.groups[1:3],
        ("What is said with it", ("reminder", "caution", "materials", "why", "hold_point")),
        ("Comes after", tuple(f"after{n}{end}" for n in LINK_ROWS for end in ("", "_wait"))),
        ("Comes before", tuple(f"before{n}{end}" for n in LINK_ROWS for end in ("", "_wait"))),
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["scope"].choices = scope_choices()
        checks = list(StandardHoldPoint.objects.values_list("key", "name"))
        self.fields["hold_point"].choices = [("", "none"), *checks]
        tasks = task_choices()
        for side in ("after", "before"):
            for n in LINK_ROWS:
                self.fields[f"{side}{n}"] = forms.ChoiceField(label="Task", required=False, choices=tasks)
                wait = forms.DecimalField(label="Wait between", required=False, min_value=0, max_value=2880)
                wait.unit = "h of the clock"
                self.fields[f"{side}{n}_wait"] = wait

    def values(self) -> dict[str, object]:
        """As `standards.add_task` takes it: name, scope, check, links, and the rest under `fields`."""
        fields = {name: value for name, value in super().values().items() if name in TASK_FIELDS}
        return {
            "name": fields.pop("name"),
            "scope": self.cleaned_data["scope"],
            "hold_point": self.cleaned_data["hold_point"],
            "fields": fields,
            "after": self._joined("after"),
            "before": self._joined("before"),
        }

    def _joined(self, side: str) -> list[Joined]:
        data = self.cleaned_data
        rows = [(data[f"{side}{n}"], data[f"{side}{n}_wait"] or 0) for n in LINK_ROWS]
        return [Joined(task, wait) for task, wait in rows if task]

    def refuse(self, error) -> None:
        if error.field in ("after", "before"):
            error.field += "1"
        super().refuse(error)


def task_choices() -> list[tuple[str, str]]:
    rows = StandardTask.objects.filter(withdrawn=False).order_by("name").values_list("key", "name")
    return [("", "–"), *rows]


class StandardLinkForm(KeptRecordForm):
    units = {"wait_hours": "h of the clock", "latest_hours": "h of the clock"}

    class Meta:
        model = StandardLink
        fields = LINK_FIELDS
        labels = {
            "wait_hours": "Wait between",
            "latest_hours": "Start at the latest after",
            "match": "Comes after",
        }
        help_texts = {"latest_hours": "a recoat window, say; missing it is shown, not forbidden"}


class NewLinkForm(KeptRecordForm):
    """A link of one task with another, before or after it."""

    side = forms.ChoiceField(label="It comes", choices=[("after", "after"), ("before", "before")])
    task = forms.ChoiceField(label="Task")
    units = {"wait_hours": "h"}

    class Meta:
        model = StandardLink
        fields = ("wait_hours",)
        labels = {"wait_hours": "Wait between"}

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["task"].choices = task_choices()
        self.order_fields(["side", "task", "wait_hours"])


class UnitKindForm(KeptRecordForm):
    units = {"width_mm": "mm", "depth_mm": "mm", "height_mm": "mm"}

    class Meta:
        model = UnitKind
        fields = UNIT_FIELDS
        labels = {"width_mm": "Width", "depth_mm": "Depth", "height_mm": "Height", "about": "What it is"}
        help_texts = {"work": "1.00 is as much as a plain carcass of its size"}


class NewUnitKindForm(UnitKindForm):
    made_as = forms.ChoiceField(label="Made in the way of")

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["made_as"].choices = ways_of_making()

    def values(self) -> dict[str, object]:
        """As `standard_kinds.add_unit_kind` takes it."""
        fields = super().values()
        return {"made_as": fields.pop("made_as"), "fields": fields}


def ways_of_making() -> list[tuple[str, str]]:
    """Each way of making, with the units that are made so."""
    made: dict[str, list[str]] = {}
    for way, name in UnitKind.objects.order_by("order").values_list("made_as", "name"):
        made.setdefault(way, []).append(name.lower())
    return [(way, ", ".join(names[:4])) for way, names in made.items()]


class InstallationKindForm(KeptRecordForm):
    class Meta:
        model = InstallationKind
        fields = INSTALLATION_FIELDS
        labels = {"usual_count": "How many there usually are", "about": "What it is"}
