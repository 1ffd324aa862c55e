"""Private links to calendars: one list, each link made and withdrawn here."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions import calendars
from builds.models import CalendarLink, Person
from builds.queries.calendars import calendar_lines

from .shop_ways import ways_of_shop


@require_safe
def listing(request: HttpRequest) -> HttpResponse:
    return _show(request)


@require_POST
def make(request: HttpRequest) -> HttpResponse:
    """Makes a link for the person asked for, or for the shop, and shows its address this once."""
    person = _person(request.POST.get("person", ""))
    _, token = calendars.make_calendar_link(person=person, now=timezone.now(), by=request.user)
    address = request.build_absolute_uri(reverse("calendars:feed", args=[token]))
    return _show(request, new_address=address, new_for=person.name if person else "the shop")


@require_POST
def withdraw(request: HttpRequest, link: int) -> HttpResponse:
    found = get_object_or_404(CalendarLink, pk=link)
    calendars.withdraw_calendar_link(link=found, now=timezone.now(), by=request.user)
    messages.success(request, "Withdrawn. Whoever asks by that link now finds nothing.")
    return redirect("owner:calendar-list")


def _show(request: HttpRequest, **more) -> HttpResponse:
    context = {"ways": ways_of_shop("owner:person-list"), "lines": calendar_lines()}
    return render(request, "owner/shop/calendars.html", context | more)


def _person(word: str) -> Person | None:
    if not word:
        return None
    if not word.isdecimal() or len(word) > 17:
        raise Http404
    return get_object_or_404(Person, pk=int(word))
