"""The forms of what a build needs of a material."""

from __future__ import annotations

from django import forms

from builds.models import Build, Material, Need, Task

HOW_MUCH = "A number, or with its unit: 2400 mm, 1.5 l."


class NeedForm(forms.Form):
    """A need typed in by hand; its token keeps a second press from adding it twice."""

    material = forms.ModelChoiceField(
        label="Material", queryset=Material.objects.filter(withdrawn=False), empty_label=None
    )
    quantity = forms.CharField(label="How much", max_length=20, help_text=HOW_MUCH)
    task = forms.ModelChoiceField(label="First used in", queryset=Task.objects.none(), required=False)
    customer_supplies = forms.BooleanField(label="The customer brings it", required=False)
    token = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def __init__(self, *given, build: Build, **more) -> None:
        super().__init__(*given, label_suffix="", **more)
        _choose_task(self, build)


class ChangeForm(forms.Form):
    """What can be changed of a need."""

    quantity = forms.CharField(label="How much", max_length=20, help_text=HOW_MUCH)
    task = forms.ModelChoiceField(label="First used in", queryset=Task.objects.none(), required=False)
    customer_supplies = forms.BooleanField(label="The customer brings it", required=False)

    def __init__(self, *given, build: Build, **more) -> None:
        super().__init__(*given, label_suffix="", **more)
        _choose_task(self, build)

    @staticmethod
    def of(need: Need) -> ChangeForm:
        quantity = f"{need.quantity.normalize():f} {need.material.get_unit_display()}"
        return ChangeForm(
            build=need.build,
            initial={
                "quantity": quantity.removesuffix(" piece"),
                "task": need.task,
                "customer_supplies": need.customer_supplies,
            },
        )


def _choose_task(form: forms.Form, build: Build) -> None:
    field = form.fields["task"]
    field.queryset = Task.objects.kept().filter(build=build).select_related("unit", "installation")
    field.label_from_instance = lambda task: f"{task.group_name}: {task.name}"
