"""The days the shop is shut, and the public holidays it works through."""

from __future__ import annotations

from datetime import date

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions import shop as actions
from builds.queries.shop import shop_days

from .forms_shop import CloseForm
from .keeping import kept
from .shop_ways import ways_of_shop


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    return _show(request, CloseForm())


@require_POST
def close(request: HttpRequest) -> HttpResponse:
    form = CloseForm(request.POST)

    def keep() -> None:
        actions.close_day(**form.values(), now=timezone.now(), by=request.user)

    if not kept(form, keep):
        return _show(request, form)
    messages.success(request, "Closed. The plan goes around it.")
    return redirect("owner:shop-days")


@require_POST
def open_again(request: HttpRequest) -> HttpResponse:
    first, last = _day(request.POST.get("date", "")), _day(request.POST.get("until", ""))
    actions.open_again(date=first, until=last, now=timezone.now(), by=request.user)
    messages.success(request, "Taken back. The plan is made anew.")
    return redirect("owner:shop-days")


@require_POST
def work_holiday(request: HttpRequest) -> HttpResponse:
    actions.work_holiday(date=_day(request.POST.get("date", "")), now=timezone.now(), by=request.user)
    messages.success(request, "The shop works that day. The plan is made anew.")
    return redirect("owner:shop-days")


def _show(request: HttpRequest, form: CloseForm) -> HttpResponse:
    days = shop_days(timezone.localdate())
    context = {"ways": ways_of_shop("owner:shop-days"), "form": form, "days": days}
    return render(request, "owner/shop/days.html", context, status=form.status)


def _day(word: str) -> date:
    try:
        return date.fromisoformat(word)
    except ValueError:
        raise Http404 from None
