"""The forms of deliveries and decisions, with the tasks that wait for them."""

from __future__ import annotations

from dataclasses import dataclass

from django import forms

from builds.actions.door import Refused, Stale
from builds.models import Build, Delivery, Material, Supplier, Task
from builds.queries.deliveries import TaskChoice, task_groups

from .keeping import DayInput, KeptForm, KeptRecordForm


@dataclass(frozen=True)
class TickGroup:
    """The boxes of one unit or installation: each task and whether it is ticked."""

    name: str
    boxes: tuple[tuple[TaskChoice, bool], ...]
    ticked: int


class WaitingTasks(forms.Form):
    """Which of the van's tasks wait."""

    tasks = forms.MultipleChoiceField(label="Tasks that wait for it", required=False)

    def __init__(self, *args, build: Build | None, chosen: tuple[int, ...] = (), **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.task_groups = task_groups(build, chosen) if build else ()
        self.fields["tasks"].choices = [
            (str(task.pk), task.name) for group in self.task_groups for task in group.tasks
        ]
        self.initial["tasks"] = [str(pk) for pk in chosen]

    def ticks(self) -> list[TickGroup]:
        ticked = {str(pk) for pk in self["tasks"].value() or ()}
        found = []
        for group in self.task_groups:
            boxes = tuple((task, str(task.pk) in ticked) for task in group.tasks)
            found.append(TickGroup(group.name, boxes, sum(on for _, on in boxes)))
        return found

    def chosen_tasks(self) -> list[Task]:
        return list(Task.objects.filter(pk__in=[int(pk) for pk in self.cleaned_data["tasks"]]))


class DeliveryForm(WaitingTasks, KeptRecordForm):
    """What comes; `version` is that of the delivery the page showed, renewed when it was another's."""

    version = forms.IntegerField(widget=forms.HiddenInput, min_value=0, required=False)

    class Meta:
        model = Delivery
        fields = ("what", "expected_on", "supplier", "material", "quantity", "from_customer", "note")
        labels = {"what": "What comes", "expected_on": "Expected on", "quantity": "How much"}
        widgets = {"expected_on": DayInput}

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        kept = self.instance
        self.initial["version"] = kept.version if kept.pk else None
        for name, model, now in (
            ("supplier", Supplier, kept.supplier_id),
            ("material", Material, kept.material_id),
        ):
            offered = model.objects.filter(withdrawn=False)
            self.fields[name].queryset = (offered | model.objects.filter(pk=now)) if now else offered
            self.fields[name].empty_label = "–"

    def values(self) -> dict[str, object]:
        return super().values() | {"tasks": self.chosen_tasks()}

    def refuse(self, error: Refused) -> None:
        super().refuse(error)
        if isinstance(error, Stale):
            self.is_stale = True
            self.data = self.data.copy()
            self.data["version"] = Delivery.objects.get(pk=self.instance.pk).version


class VersionForm(KeptForm):
    version = forms.IntegerField(widget=forms.HiddenInput, min_value=0)

    def refuse(self, error: Refused) -> None:
        super().refuse(error)
        self.is_stale = isinstance(error, Stale)


class DateForm(VersionForm):
    expected_on = forms.DateField(label="Now expected on", widget=DayInput)


class HereForm(VersionForm):
    on = forms.DateField(label="On", required=False, widget=DayInput, help_text="today when left empty")


class QuestionForm(WaitingTasks, KeptForm):
    what = forms.CharField(label="What must be decided", max_length=160)
    needed_by = forms.DateField(label="Needed by", widget=DayInput)

    field_order = ("what", "needed_by", "tasks")

    def values(self) -> dict[str, object]:
        return super().values() | {"tasks": self.chosen_tasks()}


class AnswerForm(KeptForm):
    answer = forms.CharField(label="What was decided", max_length=200)
    on = forms.DateField(label="On", required=False, widget=DayInput, help_text="today when left empty")


class AgainForm(KeptForm):
    needed_by = forms.DateField(label="Now needed by", widget=DayInput)
