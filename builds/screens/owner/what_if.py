"""What if: changes tried on a copy of the shop, beside today's plan; kept or dropped."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions import what_if as actions
from builds.actions.door import Refused
from builds.queries.what_if import WhatIfPage, what_if_page

from .forms_what_if import FORMS, ChangeForm


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    return _show(request)


@require_POST
def try_one(request: HttpRequest) -> HttpResponse:
    """Adds one change to the copy."""
    now = timezone.now()
    kind = next((f for f in FORMS if f.kind == request.POST.get("kind")), None)
    if kind is None:
        return _show(request, refused="There is no such change to try.", status=422)
    form = _form(kind, what_if_page(None, now, shop=request.shop, van=_van(request.POST)), request.POST)
    if not form.is_valid():
        return _show(request, given=form, status=422)
    try:
        actions.try_change(change=form.change(), now=now)
    except Refused as error:
        form.add_error(error.field if error.field in form.fields else None, error.words)
        return _show(request, given=form, status=error.status)
    return redirect("owner:what-if")


@require_POST
def leave_out(request: HttpRequest, change: int) -> HttpResponse:
    return _act(request, lambda mark: actions.leave_out(change=change, mark=mark, now=timezone.now()))


@require_POST
def drop(request: HttpRequest) -> HttpResponse:
    return _act(
        request,
        lambda mark: actions.drop_copy(mark=mark, now=timezone.now()),
        "Dropped. The plan is as it was.",
    )


@require_POST
def keep(request: HttpRequest) -> HttpResponse:
    return _act(
        request,
        lambda mark: actions.keep_copy(mark=mark, now=timezone.now(), by=request.user),
        "Kept: all of it is done for real, and the plan takes it in now.",
    )


def _act(request: HttpRequest, action: Callable[[str], object], words: str = "") -> HttpResponse:
    try:
        action(request.POST.get("mark", ""))
    except Refused as error:
        return _show(request, refused=error.words, status=error.status)
    if words:
        messages.success(request, words)
    return redirect("owner:what-if")


def _form(kind: type[ChangeForm], about: WhatIfPage, data=None, initial=None) -> ChangeForm:
    return kind(data, to_try=about.to_try, today=about.today, times=about.times, initial=initial)


def _van(sent: QueryDict) -> int | None:
    """The van whose tasks are to be chosen from; None for what is no number."""
    text = sent.get("van", "")
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else None


def _show(
    request: HttpRequest, *, given: ChangeForm | None = None, refused: str = "", status: int = 200
) -> HttpResponse:
    """The page; `given` is the form that was sent and stands in place of its empty one.

    An address may open the form of a kind, with what is chosen in it.
    """
    now, shop = timezone.now(), request.shop
    copy = actions.bring_up_to_date(shop=shop, now=now)
    about = what_if_page(copy, now, shop=shop, van=_van(request.POST or request.GET))
    forms = [
        given
        if given is not None and given.kind == f.kind
        else _form(f, about, initial=request.GET.dict() if request.GET.get("kind") == f.kind else None)
        for f in FORMS
    ]
    context = {"about": about, "forms": forms, "refused": refused, "opened": request.GET.get("kind")}
    return render(request, "owner/what_if/page.html", context, status=status)
