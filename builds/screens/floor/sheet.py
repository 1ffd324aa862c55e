"""The job sheet's page, and how every action on it is answered."""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotModified
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from builds.actions import tablets
from builds.actions.door import Refused
from builds.actions.floor import STOP_REASONS, Answer, By
from builds.models import Person
from builds.models.evidence import PLACES_IN_VAN
from builds.queries.job_sheet import JobSheet, job_sheet

from .queued import NEVER_KEPT, queued_answer, waited_on_the_tablet

HOURS_LEFT = ("2", "4", "6", "8")
HOURS_MORE = ("2", "4", "8", "16")


@dataclass(frozen=True)
class Trouble:
    """A refused action: where on the sheet it stands ("stop 12"), the words, and what was typed."""

    at: str
    words: str
    status: int
    field: str = ""
    typed: Mapping[str, str] | None = None

    @property
    def verb(self) -> str:
        return self.at.split()[0]

    @property
    def number(self) -> int:
        return int(self.at.split()[1])

    def has_place_on(self, sheet: JobSheet) -> bool:
        """Whether the form it belongs to still stands on the sheet; else it is said on top."""
        if self.verb == "wait":
            return any(wait.link == self.number for wait in sheet.waits)
        later = (task for day in sheet.days for group in day.groups for task in group.tasks)
        found = next((t for t in (*sheet.tasks, *later) if t.pk == self.number), None)
        if self.verb == "undo" or found is None:
            return False
        if self.verb == "task-paper":
            return bool(found.fits) and (found.is_ready or found.state == "under way")
        if self.verb == "sheet-cut":
            return bool(found.cut_sheets)
        if self.verb == "half-day":
            return found.check is None and (found.is_ready or found.state == "under way")
        return self.verb != "stop" or found.state != "stopped"


@require_safe
def job_sheet_page(request: HttpRequest, person: int) -> HttpResponse:
    """Today's work; a tablet that asks again with the tag it knows gets 304 while nothing changed."""
    tablets.note_seen(tablet=request.tablet, now=timezone.now())
    return show_sheet(request, person)


def show_sheet(request: HttpRequest, person: int, trouble: Trouble | None = None) -> HttpResponse:
    found = job_sheet(person, timezone.now(), shop=request.shop)
    if found is None:
        raise Http404
    tag = f'"{found.tag}-part"' if request.htmx else f'"{found.tag}"'
    if request.method in ("GET", "HEAD") and request.headers.get("If-None-Match") == tag:
        return HttpResponseNotModified()
    context = {
        "sheet": found,
        "person": found.name,
        "trouble": trouble,
        "trouble_on_top": trouble is not None and not trouble.has_place_on(found),
        "stop_reasons": STOP_REASONS,
        "hours_left": HOURS_LEFT,
        "hours_more": HOURS_MORE,
        "places_in_van": PLACES_IN_VAN,
    }
    template = "floor/sheet/_sheet.html" if request.htmx else "floor/sheet/page.html"
    response = render(request, template, context, status=trouble.status if trouble else 200)
    if trouble is None:
        response["ETag"] = tag
    return response


def answered(
    request: HttpRequest,
    person: int,
    at: str,
    act: Callable[[By], Answer],
    *,
    show: Callable[..., HttpResponse] = show_sheet,
    address: str = "",
) -> HttpResponse:
    """Does one action and shows the sheet as it is then, or where and why it was refused.

    `show` shows another page than the sheet, which lies at `address`.
    """
    by = by_of(request, person)
    if by.is_late:
        return queued_answer(request, by, at, act)
    try:
        answer = act(by)
    except Refused as error:
        typed = {name: value for name, value in request.POST.items() if name not in NEVER_KEPT}
        trouble = Trouble(at, error.words, error.status, error.field or "", typed)
        return show(request, person, trouble)
    if not request.htmx:
        return redirect(address or reverse("floor:job-sheet", args=[person]))
    response = show(request, person)
    task = answer.event.task
    return say(response, f"{task.name}: {answer.words}" if task else answer.words)


def by_of(request: HttpRequest, person: int) -> By:
    """Who does it: the name that was tapped, on this tablet. The form's own number makes it count once."""
    once = uuid_of(request.POST.get("once", ""))
    waited = waited_on_the_tablet(request)
    if waited and once:
        return By(person=get_object_or_404(Person, pk=person), tablet=request.tablet, uuid=once, **waited)
    who = get_object_or_404(Person.objects.working(), pk=person)
    return By(person=who, tablet=request.tablet, uuid=once)


def uuid_of(word: str) -> uuid.UUID | None:
    try:
        return uuid.UUID(word)
    except ValueError:
        return None


def say(response: HttpResponse, words: str) -> HttpResponse:
    response["HX-Trigger"] = json.dumps({"say": words})
    return response
