"""Hours taken: the week per person and per van, and the owner's correction of one tick."""

from __future__ import annotations

import uuid
from datetime import date

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from builds.actions.door import Refused
from builds.actions.hours import correct_hours
from builds.models import FloorEvent, Person
from builds.queries.hours_taken import HoursOfTick, hours_of_tick, hours_week
from builds.queries.opening import monday_of, opening_times


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    times = opening_times(request.shop)
    today = times.day_of(timezone.now())
    week = hours_week(monday_of(_day(request.GET.get("week")) or today), times)
    by_van = request.GET.get("by") == "van"
    context = {"week": week, "groups": week.vans if by_van else week.people, "by_van": by_van}
    return render(request, "owner/hours/page.html", context | {"this_monday": monday_of(today)})


def tick(request: HttpRequest, event: int) -> HttpResponse:
    """One tick with all that was said of its hours; a POST corrects them."""
    rows = FloorEvent.objects.select_related("task__build", "person", "user")
    found = get_object_or_404(rows, pk=event, task__isnull=False)
    times = opening_times(request.shop)
    about = hours_of_tick(found, times)
    if about is None:
        raise Http404
    if request.method != "POST":
        return _show(request, about)
    said = request.POST
    try:
        answer = correct_hours(
            tick=found,
            hours=said.get("hours", ""),
            crew=[int(pk) for pk in said.getlist("crew")[:50] if pk.isdecimal() and len(pk) < 10],
            why=said.get("why", ""),
            seen=int(said["seen"]) if said.get("seen", "").isdecimal() and len(said["seen"]) < 18 else 0,
            user=request.user,
            now=timezone.now(),
            uuid=_once(said.get("once", "")),
        )
    except Refused as error:
        return _show(request, about, error=error)
    messages.success(request, f"Corrected: {answer.words}.")
    return redirect(f"{reverse('owner:hours')}?week={monday_of(about.taken.day).isoformat()}")


def _show(request: HttpRequest, about: HoursOfTick, *, error: Refused | None = None) -> HttpResponse:
    typed = request.POST if error else None
    chosen = set(typed.getlist("crew")) if typed else {str(pk) for pk in about.crew}
    people = Person.objects.order_by("name")
    context = {
        "about": about,
        "people": [(p, str(p.pk) in chosen) for p in people if p.left_on is None or p.pk in about.crew],
        "hours": typed.get("hours", "") if typed else _plain(about),
        "why": typed.get("why", "") if typed else "",
        "monday": monday_of(about.taken.day),
        "error": error,
        "once": uuid.uuid4(),
    }
    return render(request, "owner/hours/tick.html", context, status=error.status if error else 200)


def _plain(about: HoursOfTick) -> str:
    return f"{about.taken.hours.normalize():f}" if about.taken.hours is not None else ""


def _once(word: str) -> uuid.UUID | None:
    try:
        return uuid.UUID(word)
    except ValueError:
        return None


def _day(word: str | None) -> date | None:
    try:
        day = date.fromisoformat(word or "")
    except ValueError:
        return None
    return day if 2000 <= day.year <= 2099 else None
