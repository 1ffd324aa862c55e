"""Builds: the list, a new one, and one build's page."""

from __future__ import annotations

from datetime import date

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions import builds as actions
from builds.actions.door import Refused
from builds.models import BodySize, Build, UnitKind
from builds.queries.build_page import build_page
from builds.queries.builds import build_list
from builds.queries.chances_drawing import draw_chances

from .build_frame import build_or_404, ways_of_build
from .forms_build import NewBuildInput, UnitRow, VanFields
from .helps import lines_of


@require_safe
def listing(request: HttpRequest) -> HttpResponse:
    groups = build_list(timezone.now(), shop=request.shop)
    return render(request, "owner/builds/list.html", {"groups": groups})


def new(request: HttpRequest) -> HttpResponse:
    """Shows the form of a new build; a POST begins it.

    One that is only asked about goes on to when it could be ready.
    """
    if request.method != "POST":
        return _show_new(request, NewBuildInput())
    given = NewBuildInput(_as_asked(request.POST))
    if given.is_valid():
        try:
            build = actions.start_build(
                new=given.new_build(),
                token=given.form.cleaned_data["token"],
                now=timezone.now(),
                by=request.user,
            )
        except Refused as error:
            given.refuse(error)
        else:
            if build.status == "asked":
                words = f"{build.name} has its work. The plan leaves it out until you take it on."
                messages.success(request, words)
                return redirect("owner:build-ready", build.pk)
            messages.success(request, f"{build.name} has its work; the plan takes it in now.")
            return redirect("owner:build-page", build.pk)
    return _show_new(request, given, status=422)


def _as_asked(sent: QueryDict) -> QueryDict:
    """What was sent; as only asked about where the button says so."""
    if sent.get("then") != "ready":
        return sent
    sent = sent.copy()
    sent["status"] = "asked"
    return sent


def _show_new(request: HttpRequest, given: NewBuildInput, status: int = 200) -> HttpResponse:
    return render(request, "owner/builds/new.html", {"given": given, "form": given.form}, status=status)


@require_safe
def van_fields(request: HttpRequest) -> HttpResponse:
    """The sizes and masses of a generic body, for the form of a new build."""
    body = BodySize.objects.filter(key=request.GET.get("body_size", "")).first()
    return render(request, "owner/builds/_van_fields.html", {"van": VanFields.of_body(body)})


@require_safe
def unit_row(request: HttpRequest) -> HttpResponse:
    """One more unit of a kind, with its usual sizes, for a form of units."""
    kind = UnitKind.objects.filter(key=request.GET.get("kind", ""), withdrawn=False).first()
    if kind is None:
        raise Http404
    return render(request, "owner/builds/_unit_row.html", {"row": UnitRow.usual(kind), "is_new": True})


@require_safe
def page(request: HttpRequest, build: int) -> HttpResponse:
    """The whole page, or what changes with the plan alone where htmx asks for it anew."""
    found = build_or_404(build)
    about = build_page(found, timezone.now(), shop=request.shop)
    context = {
        "build": found,
        "about": about,
        "drawing": draw_chances(about.chances),
        "helps_lines": lines_of(about.helps),
        "ways": ways_of_build(found, "owner:build-page"),
    }
    template = "owner/builds/_now.html" if request.htmx else "owner/builds/page.html"
    return render(request, template, context)


@require_POST
def agree(request: HttpRequest, build: int) -> HttpResponse:
    return _act(request, build, actions.agree, "Taken on. The plan takes it in now.")


@require_POST
def drop(request: HttpRequest, build: int) -> HttpResponse:
    return _act(request, build, actions.drop, "Dropped. Its record stays on the list.")


@require_POST
def hand_over(request: HttpRequest, build: int) -> HttpResponse:
    found = get_object_or_404(Build, pk=build)
    now = timezone.now()
    try:
        on = date.fromisoformat(request.POST.get("on") or timezone.localdate(now).isoformat())
        actions.hand_over(build=found, on=on, now=now, by=request.user)
    except ValueError:
        messages.error(request, "Give the day of the handover, for example 2027-05-28.")
    except Refused as error:
        messages.error(request, error.words)
    else:
        messages.success(request, f"{found.name} is handed over.")
    return redirect("owner:build-page", found.pk)


def _act(request: HttpRequest, build: int, action, words: str) -> HttpResponse:
    found = get_object_or_404(Build, pk=build)
    try:
        action(build=found, now=timezone.now(), by=request.user)
    except Refused as error:
        messages.error(request, error.words)
    else:
        messages.success(request, words)
    return redirect("owner:build-page", found.pk)
