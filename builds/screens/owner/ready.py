"""When could it be ready? A date to promise for a van that is not taken on yet."""

from __future__ import annotations

from datetime import date

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from builds.actions.builds import FARTHEST
from builds.actions.door import Refused
from builds.actions.offering import promise_ready
from builds.models import Build
from builds.queries.chances_drawing import draw_chances
from builds.queries.opening import opening_times
from builds.queries.ready import earliest_arrival, ready_page

from .build_frame import build_or_404, ways_of_build
from .forms_build import Day


class FromForm(forms.Form):
    """From which day the van may come."""

    since = Day(label="It may come from")

    def __init__(self, data, *, today: date, **more) -> None:
        super().__init__(data, **more)
        self._today = today

    def clean_since(self) -> date:
        since: date = self.cleaned_data["since"]
        if since < self._today:
            raise forms.ValidationError("That day is over. Give today or a later day.")
        if since - self._today > FARTHEST:
            raise forms.ValidationError("That is more than three years away. Look at the year.")
        return since


class OfferForm(forms.Form):
    arrives_on = Day()
    promised_on = Day()
    version = forms.IntegerField()


def page(request: HttpRequest, build: int) -> HttpResponse:
    """Works the date out and shows it; a POST promises it."""
    found = build_or_404(build)
    if found.status != "asked":
        messages.info(request, f"{found.name} is {found.status}: its date is the forecast here.")
        return redirect("owner:build-page", found.pk)
    if request.method != "POST":
        return _show(request, found)
    form = OfferForm(request.POST)
    if not form.is_valid():
        return _show(request, found, refused="Those days can’t be read. Here they are worked out anew.")
    try:
        promise_ready(build=found, **form.cleaned_data, now=timezone.now(), by=request.user)
    except Refused as error:
        return _show(request, build_or_404(build), refused=error.words, status=error.status)
    messages.success(request, "Promised, and on record. Take it on when the customer agrees.")
    return redirect("owner:build-page", found.pk)


def _show(request: HttpRequest, build: Build, *, refused: str = "", status: int = 200) -> HttpResponse:
    now = timezone.now()
    today = opening_times(request.shop).day_of(now)
    given = request.GET if "since" in request.GET else {"since": earliest_arrival(build, today)}
    form = FromForm(given, today=today)
    context = {"build": build, "form": form, "refused": refused, "ways": ways_of_build(build, "")}
    if form.is_valid():
        about = ready_page(build, form.cleaned_data["since"], now, shop=request.shop)
        context |= {"about": about, "drawing": draw_chances(about.chances)}
    elif status == 200:
        status = 422
    if refused and status == 200:
        status = 422
    return render(request, "owner/builds/ready.html", context, status=status)
