"""What waited on a tablet without network: the same forms to the same addresses, with both clocks.

There is no other way in: a queued form meets every rule that a pressed one does. It is answered with
JSON, and a refusal is kept, so that the tablet hears the same however often it sends it.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import nullcontext
from datetime import datetime, timedelta
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.views.decorators.http import require_safe

from builds.actions.door import Gone, Refused
from builds.actions.floor import Answer, By
from builds.actions.floor_events import keep_refusal
from builds.actions.planning import ask_for_plan, ask_for_plan_soon, planned_by_hand
from builds.models import Build, FloorEvent, Installation, Snag, Task

VERBS = {
    "start": "start",
    "tick": "tick",
    "half-day": "half a day left",
    "sheet-cut": "sheet cut",
    "stop": "stop",
    "note": "note",
    "photo": "photo",
    "snag": "snag",
    "wait": "not yet dry",
    "undo": "undo",
    "put-right": "put right",
    "van-snag": "snag",
    "van-photo": "photo",
    "paper": "paper",
    "task-paper": "paper",
    "check-photo": "photo",
    "check-pass": "pass",
    "check-fail": "fail",
}
"""What a form's place on the page is called among the floor's events."""
NEVER_KEPT = ("once", "pin", "sealed_pin")
LARGEST_OFFSET = timedelta(days=20)
"""More does not fit the offset's field; a clock that is further off is not believed anyway."""


def waited_on_the_tablet(request: HttpRequest) -> dict[str, Any]:
    """The tablet's number and clocks of a queued form; nothing for one that was just pressed."""
    number = request.headers.get("X-Queue-Number", "")
    done_at, sent_at = (_clock(request.headers.get(name, "")) for name in ("X-Done-At", "X-Sent-At"))
    if not (number.isascii() and number.isdecimal() and len(number) < 16) or not done_at or not sent_at:
        return {}
    offset = max(-LARGEST_OFFSET, min(timezone.now() - sent_at, LARGEST_OFFSET))
    return {
        "sequence": int(number),
        "device_at": done_at,
        "offset_ms": round(offset.total_seconds() * 1000),
    }


def in_work(request: HttpRequest, field: str) -> dict[str, str]:
    """What a van has to be for a press: in work. What waited on a tablet is heard in any case."""
    return {} if waited_on_the_tablet(request) else {field: "agreed"}


def queued_answer(request: HttpRequest, by: By, at: str, act: Callable[[By], Answer]) -> HttpResponse:
    """Does a queued action and says in JSON what became of it: kept, to settle or refused, and in words."""
    now = timezone.now()
    try:
        answer = _done(request, act, by)
    except Refused as error:
        task, build = _work_at(at)
        typed = {name: value[:2000] for name, value in request.POST.items() if name not in NEVER_KEPT}
        answer = keep_refusal(
            error, VERBS[at.split()[0]], by=by, now=now, task=task, build=build, payload=typed
        )
    if request.headers.get("X-Queue-Behind") == "0":
        ask_for_plan()
    return JsonResponse({"outcome": answer.outcome, "words": answer.words})


def _done(request: HttpRequest, act: Callable[[By], Answer], by: By) -> Answer:
    """Does it; what has others of the queue behind it leaves the new plan to the last of them."""
    has_more_behind = request.headers.get("X-Queue-Behind", "0") != "0"
    try:
        with planned_by_hand() if has_more_behind else nullcontext():
            answer = act(by)
        if has_more_behind:
            ask_for_plan_soon()
        return answer
    except Http404:
        raise Gone("That is not in the plan any more, so this changed nothing. Tell the owner.") from None


@require_safe
def state(request: HttpRequest) -> HttpResponse:
    """Tells a tablet that it is still paired, before it sends what waits, and gives the token for it."""
    response = JsonResponse({"token": get_token(request), "tablet": request.tablet.name})
    response["Cache-Control"] = "no-store"
    return response


@require_safe
def service_worker(request: HttpRequest) -> HttpResponse:
    """The script that keeps the floor's pages on the tablet; served from the root, so that it may."""
    return render(request, "floor/service-worker.js", content_type="text/javascript; charset=utf-8")


@require_safe
def web_manifest(request: HttpRequest) -> HttpResponse:
    return render(request, "floor/manifest.json", content_type="application/manifest+json")


def _work_at(at: str) -> tuple[Task | None, Build | None]:
    """What a refused form was about: the task where there is one, and the build."""
    verb, number = at.split()
    if verb == "undo":
        event = FloorEvent.objects.select_related("task", "build").filter(pk=number).first()
        return (event.task, event.build) if event else (None, None)
    if verb.startswith("van-"):
        return None, Build.objects.filter(pk=number).first()
    if verb == "paper":
        row = Installation.objects.select_related("build").filter(pk=number).first()
        return None, row.build if row else None
    if verb == "put-right":
        snag = Snag.objects.select_related("task", "build").filter(pk=number).first()
        return (snag.task, snag.build) if snag else (None, None)
    tasks = Task.objects.select_related("build")
    if verb == "wait":
        tasks = tasks.filter(links_in=number)
    elif verb.startswith("check-"):
        tasks = tasks.filter(hold_point=number)
    else:
        tasks = tasks.filter(pk=number)
    task = tasks.first()
    return task, task.build if task else None


def _clock(word: str) -> datetime | None:
    try:
        found = parse_datetime(word)
    except ValueError:
        return None
    return found if found is not None and timezone.is_aware(found) else None
