"""The shop's settings, and its opening hours."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from builds.actions import shop as actions
from builds.models import OpeningSpan, Shop

from .forms_shop import ShopForm, subdivision_choices
from .forms_week import WeekForm, monday_copied
from .keeping import kept
from .shop_ways import ways_of_shop


@require_http_methods(["GET", "HEAD", "POST"])
def page(request: HttpRequest) -> HttpResponse:
    form = ShopForm(request.POST or None, instance=_shop(), of=lambda: [actions.settings_of(_shop())])

    def keep() -> None:
        now, seen = timezone.now(), form.seen_then
        actions.change_shop(form.values(), now=now, by=request.user, seen=seen)

    if request.method == "POST" and kept(form, keep):
        messages.success(request, "Kept. The plan is made anew.")
        return redirect("owner:shop")
    context = {"ways": ways_of_shop("owner:shop"), "form": form}
    return render(request, "owner/shop/page.html", context, status=form.status)


def _shop() -> Shop:
    return Shop.objects.filter(pk=1).first() or Shop(pk=1)


@require_safe
def parts(request: HttpRequest) -> HttpResponse:
    """The parts of the country just chosen, to choose from."""
    choices = subdivision_choices(request.GET.get("country", ""))
    return render(request, "owner/shop/_subdivision.html", {"choices": choices, "chosen": ""})


@require_http_methods(["GET", "HEAD", "POST"])
def opening(request: HttpRequest) -> HttpResponse:
    data = request.POST or None
    copies = data is not None and "copy" in data
    spans = list(OpeningSpan.objects.all())
    week: dict[int, list] = {}
    for span in spans:
        week.setdefault(span.weekday, []).append((span.opens, span.closes))
    form = WeekForm(monday_copied(data) if copies else data, week=week, of=_spans)

    def keep() -> None:
        actions.set_opening(spans=form.spans(), now=timezone.now(), by=request.user, seen=form.seen_then)

    if data is not None and not copies and kept(form, keep):
        messages.success(request, "Kept. The plan is made anew.")
        return redirect("owner:shop-opening")
    context = {"ways": ways_of_shop("owner:shop-opening"), "form": form, "copied": copies}
    return render(request, "owner/shop/opening.html", context, status=form.status)


def _spans() -> list[OpeningSpan]:
    return list(OpeningSpan.objects.all())
