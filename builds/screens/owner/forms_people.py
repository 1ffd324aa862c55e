"""The forms of people: who they are, an absence, a booked day, a PIN, a trade."""

from __future__ import annotations

from django import forms

from builds.actions.people import PERSON_FIELDS
from builds.models import Person, Trade

from .keeping import ClockField, DayInput, KeptForm, KeptRecordForm


class PersonForm(KeptRecordForm):
    trades = forms.MultipleChoiceField(
        label="Trades", required=False, widget=forms.CheckboxSelectMultiple(attrs={"class": "choices"})
    )

    class Meta:
        model = Person
        fields = PERSON_FIELDS
        labels = {"user": "Signs in as"}
        help_texts = {
            "competence": "Who certifies them and under which number. Gas and mains work wants it "
            "before it starts; local law decides who may do it.",
            "user": "for whoever works at the bench and in the office too",
        }

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["trades"].choices = list(Trade.objects.values_list("key", "name"))
        if self.instance.pk:
            self.initial["trades"] = [trade.key for trade in self.instance.trades.all()]
        self.fields["user"].empty_label = "nobody of the office"
        self.order_fields(["name", "trades", *PERSON_FIELDS[1:]])


class AbsenceForm(KeptForm):
    first_day = forms.DateField(label="From", widget=DayInput)
    last_day = forms.DateField(label="To", required=False, widget=DayInput)
    from_time = ClockField(label="Only from", required=False)
    to_time = ClockField(label="Only until", required=False)
    reason = forms.CharField(label="Why", required=False, max_length=80)


class VisitForm(KeptForm):
    date = forms.DateField(label="Day", widget=DayInput)
    note = forms.CharField(label="What for", required=False, max_length=80)


class PinForm(KeptForm):
    pin = forms.CharField(
        label="New PIN",
        max_length=8,
        help_text="Four to eight digits. It signs checks on a tablet; only its print is kept.",
        widget=forms.TextInput({"inputmode": "numeric", "autocomplete": "off"}),
    )


class LeaveForm(KeptForm):
    left_on = forms.DateField(label="Last day here", widget=DayInput)


class TradeForm(KeptRecordForm):
    class Meta:
        model = Trade
        fields = ("name", "licensed")
