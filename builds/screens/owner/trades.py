"""The trades: rows, not a fixed list."""

from __future__ import annotations

from django.contrib import messages
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from builds.actions import people as actions
from builds.models import Trade

from .forms_people import TradeForm
from .keeping import kept
from .shop_ways import ways_of_shop


@require_http_methods(["GET", "HEAD", "POST"])
def listing(request: HttpRequest) -> HttpResponse:
    """The trades and who has them; a POST adds one."""
    form = TradeForm(request.POST or None)

    def keep() -> None:
        actions.add_trade(**form.values(), now=timezone.now(), by=request.user)

    if request.method == "POST" and kept(form, keep):
        messages.success(request, f"Added {form.cleaned_data['name']}.")
        return redirect("owner:trade-list")
    here = Count("people", filter=Q(people__left_on=None))
    context = {
        "ways": ways_of_shop("owner:person-list"),
        "form": form,
        "trades": Trade.objects.annotate(here=here).order_by("position", "name"),
    }
    return render(request, "owner/shop/trades.html", context, status=form.status)


@require_http_methods(["GET", "HEAD", "POST"])
def trade(request: HttpRequest, trade: int) -> HttpResponse:
    found = get_object_or_404(Trade, pk=trade)
    form = TradeForm(
        request.POST or None,
        instance=Trade.objects.get(pk=trade),
        of=lambda: [Trade.objects.get(pk=trade)],
    )

    def keep() -> None:
        seen = form.seen_then
        actions.change_trade(trade=found, **form.values(), seen=seen, now=timezone.now(), by=request.user)

    if request.method == "POST" and kept(form, keep):
        messages.success(request, "Kept.")
        return redirect("owner:trade-list")
    context = {
        "ways": ways_of_shop("owner:person-list"),
        "form": form,
        "title": found.name,
        "back": ("owner:trade-list", "Trades"),
    }
    return render(request, "owner/shop/edit.html", context, status=form.status)
