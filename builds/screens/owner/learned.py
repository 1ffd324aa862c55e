"""Hours taken against the library's hours, and what they suggest."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from builds.actions.door import Refused
from builds.actions.learning import leave_hours, take_hours
from builds.models import StandardTask
from builds.queries.learned_hours import learned_hours

from .editing import who
from .shop_ways import ways_of_shop

TAKEN_WORDS = "{} is planned with the new hours in new builds. Work that exists keeps its own."


class AnswerForm(forms.Form):
    """What was suggested when the button was made, and which button it is."""

    likely = forms.DecimalField(max_digits=6, decimal_places=2)
    answer = forms.ChoiceField(choices=[("take", "take"), ("leave", "leave")])


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    rows = learned_hours()
    context = {
        "ways": ways_of_shop("owner:standard-list"),
        "open": [row for row in rows if row.is_open],
        "others": [row for row in rows if not row.is_open],
    }
    return render(request, "owner/shop/learned.html", context)


@require_POST
def answer(request: HttpRequest, task: str) -> HttpResponse:
    found = get_object_or_404(StandardTask, key=task)
    form = AnswerForm(request.POST)
    try:
        if not form.is_valid():
            raise Refused("That was no answer. Press one of the two buttons.")
        if form.cleaned_data["answer"] == "take":
            take_hours(task=found, likely=form.cleaned_data["likely"], **who(request))
            messages.success(request, TAKEN_WORDS.format(found.name))
        else:
            leave_hours(task=found, **who(request))
            messages.success(request, f"{found.name} stays as it is.")
    except Refused as error:
        messages.error(request, error.words)
    return redirect("owner:learned")
