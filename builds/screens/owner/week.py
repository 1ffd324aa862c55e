"""This week: what the owner looks at first."""

from __future__ import annotations

from datetime import date

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions.door import Refused
from builds.actions.sheets import set_aim
from builds.actions.telling import tell_the_crew
from builds.models import Build
from builds.queries.first_steps import first_steps
from builds.queries.opening import monday_of, opening_times
from builds.queries.week import owner_week


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    """The whole page, or its live part alone where htmx asks for it anew."""
    week = owner_week(timezone.now(), shop=request.shop)
    needs = [(n.tone, n.words, reverse(f"owner:{n.url}", args=n.args)) for n in week.needs_you]
    template = "owner/week/_week.html" if request.htmx else "owner/week/page.html"
    is_empty = not week.vans and not week.to_come
    steps = first_steps(opening_times(request.shop)) if is_empty else ()
    shown = {"week": week, "needs": needs, "monday": monday_of(week.today), "steps": steps}
    return render(request, template, shown)


@require_POST
def tell(request: HttpRequest) -> HttpResponse:
    """Tells the crew this week and next as the plan has them now."""
    try:
        told = tell_the_crew(now=timezone.now(), user=request.user)
    except Refused as error:
        messages.error(request, error.words)
    else:
        messages.success(
            request,
            f"The crew is told: {told.tasks} tasks of this week and next"
            + (f", {told.changed} of them new or changed." if told.changed else ", nothing changed."),
        )
    return redirect("owner:week")


@require_POST
def aim(request: HttpRequest, build: int) -> HttpResponse:
    """Says what this week is for, for one van."""
    found = get_object_or_404(Build, pk=build)
    now = timezone.now()
    monday: date = monday_of(opening_times(request.shop).day_of(now))
    try:
        set_aim(build=found, monday=monday, aim=request.POST.get("aim", ""), now=now, by=request.user)
    except Refused as error:
        messages.error(request, error.words)
    else:
        messages.success(request, f"The aim of the week for {found.name} is kept.")
    return redirect("owner:week")
