"""Looking for a better plan: the search as it runs, what it found and what taking it changes."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseNotModified
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions import proposals
from builds.actions.door import Refused
from builds.queries.proposals import proposal_page

LENGTHS = ((30, "half a minute"), (120, "two minutes"), (600, "ten minutes"), (1800, "half an hour"))


class LookForm(forms.Form):
    seconds = forms.TypedChoiceField(label="Look for", choices=LENGTHS, coerce=int, initial=120)


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    return _show(request, LookForm(label_suffix=""))


@require_safe
def progress(request: HttpRequest) -> HttpResponse:
    """The live part alone; 304 while it would look the same."""
    proposals.go_on_if_lost(now=timezone.now())
    found = proposal_page(request.shop)
    if request.headers.get("If-None-Match", "").strip('"') == found.tag:
        return HttpResponseNotModified()
    response = render(request, "owner/week/_better.html", {"found": found, "form": LookForm(label_suffix="")})
    response["ETag"] = f'"{found.tag}"'
    return response


@require_POST
def look(request: HttpRequest) -> HttpResponse:
    form = LookForm(request.POST, label_suffix="")
    if form.is_valid():
        try:
            proposals.ask_for_better_plan(
                seconds=form.cleaned_data["seconds"], now=timezone.now(), by=request.user
            )
            return redirect("owner:better-plan")
        except Refused as error:
            form.add_error(None, error.words)
    return _show(request, form, status=422)


@require_POST
def stop(request: HttpRequest, proposal: int) -> HttpResponse:
    proposals.stop_search(proposal=proposal, now=timezone.now())
    return redirect("owner:better-plan")


@require_POST
def take(request: HttpRequest, proposal: int) -> HttpResponse:
    try:
        proposals.take_proposal(proposal=proposal, now=timezone.now(), by=request.user)
    except Refused as error:
        if error.status == 404:
            raise
        messages.error(request, error.words)
    else:
        messages.success(request, "Taken. The plan follows it from now on; ticks keep its order.")
    return redirect("owner:better-plan")


@require_POST
def leave(request: HttpRequest, proposal: int) -> HttpResponse:
    try:
        proposals.drop_proposal(proposal=proposal, now=timezone.now())
    except Refused as error:
        if error.status == 404:
            raise
        messages.error(request, error.words)
    else:
        messages.success(request, "The plan stays as it is.")
    return redirect("owner:better-plan")


def _show(request: HttpRequest, form: LookForm, status: int = 200) -> HttpResponse:
    proposals.go_on_if_lost(now=timezone.now())
    context = {"found": proposal_page(request.shop), "form": form}
    return render(request, "owner/week/better.html", context, status=status)
