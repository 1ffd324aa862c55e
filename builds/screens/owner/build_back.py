"""A van that comes back after its handover, for work under warranty."""

from __future__ import annotations

import uuid
from decimal import Decimal

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from builds.actions.builds import ReturnedJob, take_back
from builds.actions.door import Refused
from builds.models import Place, Trade

from .build_frame import build_or_404
from .forms_build import Day, refuse_in


class BackForm(forms.Form):
    """When it comes and the one job it comes for; more jobs are added to it like any others."""

    arrives_on = Day(label="Comes on")
    promised_on = Day(label="Promised back for", required=False)
    name = forms.CharField(label="What is to be done", max_length=120)
    trade = forms.ModelChoiceField(
        label="Trade", queryset=Trade.objects.all(), to_field_name="key", empty_label=None
    )
    place = forms.ModelChoiceField(
        label="Place", queryset=Place.objects.all(), to_field_name="key", empty_label=None, initial="inside"
    )
    hours = forms.DecimalField(
        label="Likely hours", min_value=Decimal("0.25"), max_digits=5, decimal_places=2, initial=Decimal(1)
    )
    token = forms.UUIDField(widget=forms.HiddenInput, required=False)


def page(request: HttpRequest, build: int) -> HttpResponse:
    found = build_or_404(build)
    if request.method != "POST":
        form = BackForm(initial={"token": uuid.uuid4()})
        return render(request, "owner/builds/back.html", {"build": found, "form": form})
    form = BackForm(request.POST)
    if form.is_valid():
        given = form.cleaned_data
        job = ReturnedJob(given["name"], given["trade"].key, given["place"].key, given["hours"])
        try:
            back = take_back(
                build=found,
                arrives_on=given["arrives_on"],
                promised_on=given["promised_on"],
                jobs=[job],
                token=given["token"],
                now=timezone.now(),
                by=request.user,
            )
        except Refused as error:
            refuse_in(form, error)
        else:
            messages.success(request, f"{back.name} is in the plan.")
            return redirect("owner:build-page", back.pk)
    return render(request, "owner/builds/back.html", {"build": found, "form": form}, status=422)
