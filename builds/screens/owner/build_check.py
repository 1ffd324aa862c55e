"""One check of a build, for the owner: what was signed, overruling it in writing, its certificate."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions import hold_points
from builds.actions.door import Refused
from builds.models import Build, HoldPoint
from builds.queries.check_page import check_for_owner
from builds.reports.checks import checks_of_build

from .build_frame import ways_of_build


@require_safe
def page(request: HttpRequest, build: int, task: int) -> HttpResponse:
    return _show(request, _check_of(build, task))


@require_POST
def overrule(request: HttpRequest, build: int, task: int) -> HttpResponse:
    """Lets the work behind the check start without a pass, on a written reason."""
    found = _check_of(build, task)
    return _act(
        request,
        found,
        "overrule",
        "Overruled. The reason stays on record and is printed with the checks.",
        lambda: hold_points.overrule_check(
            hold_point=found, reason=request.POST.get("reason", ""), user=request.user, now=timezone.now()
        ),
    )


@require_POST
def again(request: HttpRequest, build: int, task: int) -> HttpResponse:
    found = _check_of(build, task)
    return _act(
        request,
        found,
        "again",
        "It is to be checked again.",
        lambda: hold_points.reopen_check(
            hold_point=found, why=request.POST.get("why", ""), user=request.user, now=timezone.now()
        ),
    )


@require_POST
def certificate(request: HttpRequest, build: int, task: int) -> HttpResponse:
    found = _check_of(build, task)
    return _act(
        request,
        found,
        "certificate",
        "The certificate is on record.",
        lambda: hold_points.file_certificate(
            hold_point=found, reference=request.POST.get("reference", ""), now=timezone.now(), by=request.user
        ),
    )


@require_safe
def paper(request: HttpRequest, build: int) -> HttpResponse:
    """Every check of the build with what was signed and overruled, to print."""
    found = get_object_or_404(Build, pk=build)
    _, pdf = checks_of_build(found, timezone.now())
    name = {"Content-Disposition": f'inline; filename="hold-points-{found.pk}.pdf"'}
    return HttpResponse(pdf, content_type="application/pdf", headers=name)


def _act(request: HttpRequest, check: HoldPoint, form: str, words: str, act) -> HttpResponse:
    try:
        act()
    except Refused as error:
        return _show(request, _check_of(check.task.build_id, check.task_id), form=form, error=error)
    messages.success(request, words)
    return redirect("owner:task-check", check.task.build_id, check.task_id)


def _check_of(build: int, task: int) -> HoldPoint:
    rows = HoldPoint.objects.select_related("task__build__customer", "task__trade", "task__installation")
    return get_object_or_404(rows, task=task, task__build=build, task__removed_at=None)


def _show(
    request: HttpRequest, found: HoldPoint, *, form: str = "", error: Refused | None = None
) -> HttpResponse:
    build = found.task.build
    context = {
        "build": build,
        "task": found.task,
        "check": check_for_owner(found, timezone.now()),
        "ways": ways_of_build(build, "owner:build-work"),
        "form_at": form,
        "error": error,
        "typed": request.POST if error else {},
    }
    return render(request, "owner/builds/check.html", context, status=error.status if error else 200)
