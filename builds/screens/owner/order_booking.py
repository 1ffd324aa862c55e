"""Booking in what came of an order, taking a booking back, and another day for what is to come."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from builds.actions import delivery_dates, receipts
from builds.actions.deliveries import put_on_shelf
from builds.actions.door import Gone, Refused
from builds.models import Delivery, Receipt
from builds.templatetags.words import day as day_words

from .forms_orders import BookForm, DayForm, OrderForm
from .keeping import kept
from .material_ways import ways_of_material
from .orders import found_order


@require_http_methods(["GET", "HEAD", "POST"])
def book(request: HttpRequest, order: int) -> HttpResponse:
    """What came, line by line; a POST books it in."""
    found, page = found_order(request, order)
    if not page.open_lines:
        messages.info(request, "Nothing of it is still to come.")
        return redirect("owner:order", found.pk)
    first = {"came_on": timezone.localdate(), "token": uuid.uuid4()}
    form = BookForm(request.POST or None, order=page, initial=first)

    def keep() -> None:
        receipts.book_in(order=found, **form.values(), **_who(request))

    if request.method == "POST" and kept(form, keep):
        messages.success(request, "Booked in. Find it now, and put it on its van’s kit shelf.")
        return redirect("owner:order", found.pk)
    if form.is_stale:
        _, page = found_order(request, order)
        form.order = page
    context = {"order": page, "form": form, "ways": ways_of_material("owner:order-list")}
    return render(request, "owner/orders/book.html", context, status=form.status)


@require_POST
def take_back(request: HttpRequest, order: int, receipt: int) -> HttpResponse:
    found, page = found_order(request, order)
    row = get_object_or_404(Receipt, pk=receipt, line__order=found)
    form = OrderForm(request.POST, order=page)

    def keep() -> None:
        receipts.take_back(order=found, receipt=row, **form.values(), **_who(request))

    if kept(form, keep):
        messages.success(request, "Taken back. It is waited for again; the booking stays on record.")
    else:
        messages.error(request, _said(form))
    return redirect("owner:order", found.pk)


@require_POST
def shelve(request: HttpRequest, order: int) -> HttpResponse:
    """Puts on their kit shelves what is ticked of what came."""
    found, _ = found_order(request, order)
    chosen = [pk for pk in request.POST.getlist("part") if pk.isdecimal() and len(pk) < 10]
    rows = Delivery.objects.filter(line__order=found, pk__in=chosen, on_shelf_on=None)
    for row in rows.exclude(arrived_on=None):
        put_on_shelf(delivery=row, **_who(request))
    words = "On the kit shelf." if chosen else "Tick what you found first."
    messages.info(request, words)
    return redirect("owner:order", found.pk)


@require_http_methods(["GET", "HEAD", "POST"])
def change_day(request: HttpRequest, order: int) -> HttpResponse:
    """What another day does to the handovers; a POST keeps it."""
    found, page = found_order(request, order)
    form = DayForm(request.POST if request.method == "POST" else request.GET, order=page)
    back = reverse("owner:order", args=[found.pk])
    if not form.is_valid():
        messages.error(request, _said(form))
        return redirect(back)
    day = form.cleaned_data["expected_on"]
    try:
        if request.method == "POST":
            delivery_dates.change_order_day(order=found, **form.values(), **_who(request))
            messages.success(request, f"It now comes {day_words(day)}. The plan is made anew.")
            return redirect(back)
        rows = list(Delivery.objects.filter(line__order=found))
        other = delivery_dates.look_at_day(deliveries=rows, expected_on=day, now=timezone.now())
    except Gone:
        raise
    except Refused as error:
        messages.error(request, error.words)
        return redirect(back)
    context = {
        "ways": ways_of_material("owner:order-list"),
        "what": f"{page.title} to {page.whom}",
        "title": f"{page.title} comes {day_words(day)}?",
        "other": other,
        "fields": {"expected_on": day.isoformat(), "version": page.version},
        "keep_url": reverse("owner:order-day", args=[found.pk]),
        "back_url": back,
    }
    return render(request, "owner/orders/other_day.html", context)


def _said(form) -> str:
    return " ".join(str(error) for errors in form.errors.values() for error in errors)


def _who(request: HttpRequest) -> dict:
    return {"now": timezone.now(), "by": request.user}
