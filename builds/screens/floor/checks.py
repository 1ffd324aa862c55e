"""A check that holds: its readings, what the limits say of them, and the signature with a PIN."""

from __future__ import annotations

from collections.abc import Mapping

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from builds.actions import floor, hold_points
from builds.actions.door import Refused
from builds.actions.floor import Answer, By
from builds.actions.sealed_pins import public_key, unsealed
from builds.engines.floor.judging import Judgement
from builds.models import HoldPoint, Person
from builds.models.evidence import PLACES_IN_VAN
from builds.queries.check_page import check_page, check_photos, filled, verdict_of, worked_out_words

from .evidence import file_of, place_of
from .queued import in_work, queued_answer
from .sheet import Trouble, answered, by_of

TYPED_BESIDE = ("note", "competent_person", "certificate", "hours")


@require_http_methods(["GET", "HEAD", "POST"])
def page(request: HttpRequest, person: int, check: int) -> HttpResponse:
    """Shows the check, or its photos alone where htmx asks for them anew; a POST signs it as passed or
    failed, whichever button was pressed. What was signed without network comes this way too."""
    found = _check_of(request, check)
    if request.method != "POST":
        return _show_photos(request, person, found, None) if request.htmx else _show(request, person, found)
    verdict, sign = ("fail", _fail) if request.POST.get("verdict") == "fail" else ("pass", _pass)
    by = by_of(request, person)
    if by.is_late:
        return queued_answer(request, by, f"check-{verdict} {check}", lambda by: sign(request, found, by))
    try:
        answer = sign(request, found, by)
    except Refused as error:
        return _show(request, person, _check_of(request, check), error=error)
    messages.success(request, answer.words)
    return redirect("floor:job-sheet", person)


@require_POST
def judge(request: HttpRequest, person: int, check: int) -> HttpResponse:
    """Holds the readings typed so far against the limits; signs nothing."""
    found = _check_of(request, check)
    if not request.htmx:
        return _show(request, person, found, judged=verdict_of(found, _readings(request)))
    judged = verdict_of(found, _readings(request))
    context = {"judged": judged, "figures": worked_out_words(found, judged), "person_pk": person}
    return render(request, "floor/check/_verdict.html", context | {"check": found})


@require_POST
def photo(request: HttpRequest, person: int, check: int) -> HttpResponse:
    """Keeps a photo of the check; one that waited on the tablet comes this way too."""
    found = _check_of(request, check)

    def keep(by):
        return floor.add_photo(
            file=file_of(request),
            build=found.task.build,
            task=found.task,
            hold_point=found,
            behind=place_of(request),
            by=by,
            now=timezone.now(),
        )

    def show(request: HttpRequest, person: int, trouble: Trouble | None = None) -> HttpResponse:
        if request.htmx:
            return _show_photos(request, person, found, trouble)
        error = Refused(trouble.words, field=trouble.field) if trouble else None
        return _show(request, person, found, error=error)

    address = reverse("floor:hold-point", args=[person, check])
    return answered(request, person, f"check-photo {check}", keep, show=show, address=address)


def _show_photos(
    request: HttpRequest, person: int, check: HoldPoint, trouble: Trouble | None
) -> HttpResponse:
    context = {
        "photos": check_photos(check),
        "check": check,
        "person_pk": person,
        "photo_error": trouble,
        "places_in_van": PLACES_IN_VAN,
    }
    return render(request, "floor/check/_photos.html", context, status=trouble.status if trouble else 200)


def _pass(request: HttpRequest, check: HoldPoint, by: By) -> Answer:
    said = request.POST
    return hold_points.pass_check(
        hold_point=check,
        readings=_readings(request),
        by=by,
        now=timezone.now(),
        pin=_pin(request),
        hours=said.get("hours", ""),
        competent_person=said.get("competent_person", ""),
        certificate=said.get("certificate", ""),
        note=said.get("note", ""),
    )


def _fail(request: HttpRequest, check: HoldPoint, by: By) -> Answer:
    said = request.POST
    return hold_points.fail_check(
        hold_point=check,
        readings=_readings(request),
        note=said.get("note", ""),
        by=by,
        now=timezone.now(),
        pin=_pin(request),
        competent_person=said.get("competent_person", ""),
    )


def _pin(request: HttpRequest) -> str:
    """The PIN as typed, or as it was sealed on the tablet for this form alone."""
    sealed = request.POST.get("sealed_pin", "")
    if not sealed:
        return request.POST.get("pin", "")
    return unsealed(sealed, bound_to=f"{request.path} {request.POST.get('once', '')}")


def _check_of(request: HttpRequest, pk: int) -> HoldPoint:
    rows = HoldPoint.objects.select_related(
        "task__build", "task__trade", "task__place", "task__unit", "task__installation"
    )
    if not (status := in_work(request, "task__build__status")):
        return get_object_or_404(rows, pk=pk)
    return get_object_or_404(rows, pk=pk, task__removed_at=None, **status)


def _readings(request: HttpRequest) -> Mapping[str, str]:
    """What was typed into the check's own fields: their names begin with "reading-"."""
    return {
        name.removeprefix("reading-"): value
        for name, value in request.POST.items()
        if name.startswith("reading-")
    }


def _show(
    request: HttpRequest,
    person: int,
    check: HoldPoint,
    *,
    error: Refused | None = None,
    judged: Judgement | None = None,
) -> HttpResponse:
    reader = get_object_or_404(Person.objects.working(), pk=person)
    shown = check_page(check, reader, timezone.now())
    typed = {}
    if request.method == "POST":
        typed = {name: request.POST.get(name, "") for name in TYPED_BESIDE}
        readings = _readings(request)
        shown = filled(shown, readings, getattr(error, "errors", {}))
        judged = judged or verdict_of(check, readings)
    context = {
        "page": shown,
        "check": check,
        "person": reader.name,
        "person_pk": person,
        "error": error,
        "typed": typed,
        "judged": judged,
        "figures": worked_out_words(check, judged) if judged else (),
        "photos": shown.photos,
        "has_pin": bool(reader.pin_hash),
        "seal_key": public_key(),
        "places_in_van": PLACES_IN_VAN,
    }
    return render(request, "floor/check/page.html", context, status=error.status if error else 200)
