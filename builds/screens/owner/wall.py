"""The wall sheet, and moving work on it: what a move does is shown before it is kept."""

from __future__ import annotations

import json
from datetime import date

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions import moving
from builds.actions.door import Refused
from builds.models import Shop
from builds.queries.opening import monday_of, opening_times
from builds.queries.wall_sheet import WallSheet, move_choices, wall_sheet
from builds.templatetags.words import calendar_week, week_of

WIDTHS = (4, 6, 9, 13)


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    """The whole page, or the sheet alone where htmx asks for it anew."""
    van = _whole(request.GET.get("van"))
    weeks = _whole(request.GET.get("weeks")) or 6
    sheet = wall_sheet(
        timezone.now(), first=_day(request.GET.get("from")), weeks=weeks, van=van, shop=request.shop
    )
    if van is not None and sheet.van_name is None:
        raise Http404("no such van in the shop")
    context = {
        "sheet": sheet,
        "here": _here(sheet),
        "widths": WIDTHS,
        "weeks": len(sheet.weeks),
        "move_url": reverse("owner:move"),
    }
    template = "owner/wall/_wall.html" if request.htmx else "owner/wall/page.html"
    return render(request, template, context)


def _here(sheet: WallSheet) -> str:
    """The query of the sheet as it is shown, so that it can be asked for again."""
    van = f"&van={sheet.van}" if sheet.van else ""
    return f"from={sheet.first}&weeks={len(sheet.weeks)}{van}"


def move(request: HttpRequest) -> HttpResponse:
    """A form that asks which week; a POST tells what the move would do and asks to keep it."""
    if request.method == "POST":
        return _preview(request)
    key = request.GET.get("task", "")
    if not key:
        return render(request, "owner/wall/_nothing.html")
    return _ask_week(request, key)


def _ask_week(request: HttpRequest, key: str, error: Refused | None = None, week: date | None = None):
    chosen = moving.chosen_work(key, opening_times(request.shop))
    context = {
        "chosen": chosen,
        "choices": move_choices(timezone.now(), request.shop),
        "week": week or chosen.first_week,
        "error": error,
        "first_week": getattr(error, "first_week", None),
        "task": chosen.tasks[0],
        "is_pinned": any(hasattr(t, "pin") for t in chosen.tasks),
    }
    template = "owner/wall/_move.html" if request.htmx else "owner/wall/move.html"
    return render(request, template, context, status=error.status if error else 200)


def _preview(request: HttpRequest) -> HttpResponse:
    key, week = request.POST.get("task", ""), _day(request.POST.get("week"))
    if week is None:
        return _ask_week(request, key, Refused("Choose a week.", field="week"))
    try:
        preview = moving.preview_move(
            key=key, monday=monday_of(week), now=timezone.now(), mark=request.POST.get("mark", "")
        )
    except moving.Impossible as error:
        return _ask_week(request, key, error, week=error.first_week or week)
    except Refused as error:
        if error.status != 422:
            raise
        return _ask_week(request, key, error)
    context = {
        "preview": preview,
        "title": f"{preview.chosen.van}: {preview.chosen.name} to week {calendar_week(preview.monday)}?",
        "fields": {"task": key, "week": preview.monday.isoformat(), "mark": preview.chosen.mark},
    }
    template = "owner/wall/_preview.html" if request.htmx else "owner/wall/preview.html"
    return render(request, template, context)


@require_POST
def keep(request: HttpRequest) -> HttpResponse:
    week = _day(request.POST.get("week"))
    if week is None:
        raise Refused("Choose a week.", field="week")
    key = request.POST.get("task", "")
    pins = moving.keep_move(
        key=key,
        monday=monday_of(week),
        mark=request.POST.get("mark", ""),
        now=timezone.now(),
        by=request.user,
    )
    words = f"Moved to {week_of(monday_of(week))}."
    context = {
        "words": words,
        "pins": json.dumps({pk: monday.isoformat() if monday else None for pk, monday in pins.items()}),
        "mark": moving.mark_of_pins(pins),
    }
    if not request.htmx:
        return render(request, "owner/wall/kept.html", context)
    return _changed(request, "owner/wall/_kept.html", context, words)


@require_POST
def back(request: HttpRequest) -> HttpResponse:
    """Puts the work back to where it was before the move."""
    pins = _pins(request.POST.get("pins", ""))
    moving.put_back(pins=pins, mark=request.POST.get("mark", ""), now=timezone.now(), by=request.user)
    return _changed(request, "owner/wall/_nothing.html", {}, "Put back.")


@require_POST
def lift(request: HttpRequest) -> HttpResponse:
    """Takes the pins off, so that the plan finds the week."""
    moving.lift_pins(key=request.POST.get("task", ""), now=timezone.now(), by=request.user)
    return _changed(request, "owner/wall/_nothing.html", {}, "The plan finds its week now.")


def _changed(request: HttpRequest, template: str, context: dict, words: str) -> HttpResponse:
    """The answer to a move: the panel, the mark of a plan under way, and a word to whoever listens."""
    if not request.htmx:
        messages.success(request, words)
        return redirect("owner:wall")
    shop = Shop.objects.get(pk=1)
    marked = context | {"plan_is_stale": shop.plan_is_stale, "plan_tag": shop.plan_tag, "is_swap": True}
    response = render(request, template, marked)
    response["HX-Trigger"] = json.dumps({"say": words, "wall-changed": {}})
    return response


def _pins(text: str) -> dict[int, date | None]:
    try:
        found = json.loads(text)
        pins = {int(pk): date.fromisoformat(day) if day else None for pk, day in found.items()}
        if all(0 < pk < 2**31 for pk in pins):
            return pins
    except (ValueError, AttributeError, TypeError):
        pass
    raise Refused("That can’t be put back any more. Move it by hand.")


def _day(text: str | None) -> date | None:
    try:
        day = date.fromisoformat(text or "")
    except ValueError:
        return None
    return day if 2000 <= day.year <= 2200 else None


def _whole(text: str | None) -> int | None:
    return int(text) if text and text.isdecimal() and len(text) < 9 else None
