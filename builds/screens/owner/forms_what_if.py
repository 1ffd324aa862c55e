"""The forms of what can be tried on a copy, one a kind of change; each gives the change in full."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django import forms

from builds.queries.opening import OpeningTimes, monday_of
from builds.queries.what_if import ToTry
from builds.queries.what_if_clashes import Change
from builds.templatetags.words import day as day_words
from builds.templatetags.words import week_of

from .forms_build import Day

FARTHEST = timedelta(days=730)
LONGEST_STRETCH = timedelta(days=90)
LONGER = ((30, "half an hour"), (60, "an hour"), (90, "an hour and a half"), (120, "two hours"))


class ChangeForm(forms.Form):
    """One kind of change. `kind` is also the prefix of its fields, so that all stand on one page."""

    kind = ""
    title = ""
    nothing = "There is nobody to choose from."

    def __init__(self, data, *, to_try: ToTry, today: date, times: OpeningTimes, initial=None) -> None:
        super().__init__(data, prefix=self.kind.replace(" ", "-"), label_suffix="", initial=initial)
        self.to_try, self.today, self.times = to_try, today, times
        self.offer()

    def offer(self) -> None:
        """Fills in what may be chosen."""

    @property
    def can_try(self) -> bool:
        """Whether there is anything to choose from."""
        return all(f.choices for f in self.fields.values() if isinstance(f, forms.ChoiceField))

    def change(self) -> Change:
        """The change as a copy keeps it; call when the form is valid."""
        return {"kind": self.kind, **self.details(self.cleaned_data)}

    def details(self, given: dict[str, Any]) -> Change:
        raise NotImplementedError

    def name_of(self, field: str) -> str:
        """The words of what was chosen, without what stands behind a comma."""
        choices: list = []
        for value, words in self.fields[field].choices:
            choices += [(value, words)] if isinstance(words, str) else list(words)
        return dict(choices)[self.cleaned_data[field]]

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        for name in ("first", "last", "day"):
            at = given.get(name)
            if at is not None and at < self.today:
                self.add_error(name, "That day is over. Give today or a later day.")
            elif at is not None and at - self.today > FARTHEST:
                self.add_error(name, "That is more than two years ahead. Look at the year.")
        first, last = given.get("first"), given.get("last")
        if first and last and last < first:
            self.add_error("last", "The last day can’t be before the first.")
        elif first and last and last - first > LONGEST_STRETCH:
            self.add_error("last", "That is more than three months. Try a shorter stretch.")
        return given


def _stretch(given: dict[str, Any]) -> Change:
    return {"first": given["first"].isoformat(), "last": given["last"].isoformat()}


def _stretch_words(given: dict[str, Any]) -> str:
    first, last = given["first"], given["last"]
    return f"on {day_words(first)}" if first == last else f"from {day_words(first)} to {day_words(last)}"


class AwayForm(ChangeForm):
    kind, title = "away", "Somebody is away"
    person = forms.ChoiceField(label="Who")
    first = Day(label="First day")
    last = Day(label="Last day")

    def offer(self) -> None:
        self.fields["person"].choices = self.to_try.people

    def details(self, given: dict[str, Any]) -> Change:
        words = f"{self.name_of('person')} is away {_stretch_words(given)}"
        return {"person": int(given["person"]), **_stretch(given), "words": words}


class LongerForm(ChangeForm):
    kind, title = "longer", "Somebody works longer"
    person = forms.ChoiceField(label="Who")
    minutes = forms.TypedChoiceField(label="Longer each day", choices=LONGER, coerce=int, initial=60)

    def offer(self) -> None:
        self.fields["person"].choices = self.to_try.people

    def details(self, given: dict[str, Any]) -> Change:
        words = f"{self.name_of('person')} works {dict(LONGER)[given['minutes']]} longer each day from now on"
        return {"person": int(given["person"]), "minutes": given["minutes"], "words": words}


class LateForm(ChangeForm):
    kind, title = "late", "A delivery comes another day"
    nothing = "No work waits for a delivery."
    delivery = forms.ChoiceField(label="What comes")
    day = Day(label="It comes on")

    def offer(self) -> None:
        groups = (("Whole orders", self.to_try.orders), ("One thing", self.to_try.deliveries))
        self.fields["delivery"].choices = [(name, choices) for name, choices in groups if choices]

    def details(self, given: dict[str, Any]) -> Change:
        words = f"{self.name_of('delivery').partition(', due ')[0]}: to come {day_words(given['day'])}"
        what, _, pk = given["delivery"].rpartition("-")
        return {what or "delivery": int(pk), "day": given["day"].isoformat(), "words": words}


class WithoutForm(ChangeForm):
    kind, title = "without", "Start without a part"
    nothing = "No work waits for a delivery."
    delivery = forms.ChoiceField(label="What is not waited for")

    def offer(self) -> None:
        self.fields["delivery"].choices = self.to_try.deliveries

    def details(self, given: dict[str, Any]) -> Change:
        words = f"{self.name_of('delivery').partition(', due ')[0]}: not waited for"
        return {"delivery": int(given["delivery"]), "words": words}


class TakenInForm(ChangeForm):
    kind, title = "taken in", "Another van is taken in"
    nothing = "No van is asked about. Enter it as a new build first, as one that is only asked about."
    build = forms.ChoiceField(label="Which van")
    day = Day(label="It comes on")

    def offer(self) -> None:
        self.fields["build"].choices = self.to_try.asked

    def details(self, given: dict[str, Any]) -> Change:
        words = f"{self.name_of('build')} is taken in and comes {day_words(given['day'])}"
        return {"build": int(given["build"]), "day": given["day"].isoformat(), "words": words}


class FirstForm(ChangeForm):
    kind, title = "first", "A van goes first at a place"
    nothing = "No van is being built, or no place fills up."
    place = forms.ChoiceField(label="Where", initial="spray")
    build = forms.ChoiceField(label="Which van")

    def offer(self) -> None:
        self.fields["build"].choices = self.to_try.agreed
        self.fields["place"].choices = self.to_try.places

    def details(self, given: dict[str, Any]) -> Change:
        words = f"{self.name_of('build')} goes first at the place “{self.name_of('place')}”"
        return {"build": int(given["build"]), "place": given["place"], "words": words}


class ClosedForm(ChangeForm):
    kind, title = "closed", "The shop is closed"
    first = Day(label="First day")
    last = Day(label="Last day")

    def details(self, given: dict[str, Any]) -> Change:
        return {**_stretch(given), "words": f"The shop is closed {_stretch_words(given)}"}


class PinForm(ChangeForm):
    kind, title = "pin", "A task is pinned to a week"
    nothing = "There is no task left to begin."
    task = forms.ChoiceField(label="Which task")
    day = Day(label="In the week of", help_text="Any day of that week.")

    def offer(self) -> None:
        self.fields["task"].choices = self.to_try.tasks

    @property
    def others(self) -> tuple[tuple[str, str], ...]:
        """The vans whose tasks are not offered yet."""
        return tuple(v for v in self.to_try.agreed if v[0] != str(self.to_try.van))

    @property
    def van(self) -> tuple[str, str] | None:
        """The van whose tasks are offered."""
        return next((v for v in self.to_try.agreed if v[0] == str(self.to_try.van)), None)

    def clean_day(self) -> date:
        monday = monday_of(self.cleaned_data["day"])
        if not self.times.open_days(monday):
            raise forms.ValidationError("The shop is closed all that week. Choose another.")
        return self.cleaned_data["day"]

    def details(self, given: dict[str, Any]) -> Change:
        monday = monday_of(given["day"])
        group = next(group for group, tasks in self.to_try.tasks if given["task"] in dict(tasks))
        van = self.van[1] if self.van else ""
        words = f"“{self.name_of('task')}” ({van}, {group}) is pinned to the week of {week_of(monday)}"
        return {"task": int(given["task"]), "monday": monday.isoformat(), "words": words}


FORMS: tuple[type[ChangeForm], ...] = (
    AwayForm,
    LateForm,
    WithoutForm,
    TakenInForm,
    FirstForm,
    LongerForm,
    ClosedForm,
    PinForm,
)
