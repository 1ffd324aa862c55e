"""A supplier's prices and lead times from a file: looked at first, then taken whole or not at all."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from builds.actions import price_lists as actions
from builds.actions.door import Gone, Refused
from builds.exchange.list_files import UnreadableList
from builds.exchange.price_files import COLUMNS, prices_csv, read_prices
from builds.models import Material, PriceList, Supplier
from builds.queries.price_lists import PriceChanges, price_changes, taken_lists

from .forms_lists import ListForm
from .shop_ways import ways_of_shop

MOST_SHOWN = 50


class PriceListForm(ListForm):
    """A supplier's list; materials the shop does not buy can be left out."""

    bought_only = forms.BooleanField(
        label="Leave out what the shop does not buy", required=False, help_text="withdrawn materials too"
    )


@require_http_methods(["GET", "HEAD", "POST"])
def prices(request: HttpRequest, supplier: int) -> HttpResponse:
    """What a file holds and how it is taken; a POST reads one and goes on to what it would change."""
    found = get_object_or_404(Supplier, pk=supplier)
    if request.method != "POST":
        return _ask(request, found, PriceListForm())
    form = PriceListForm(request.POST, request.FILES)
    if not form.is_valid():
        return _ask(request, found, form, status=422)
    typed = form.cleaned_data
    try:
        changes = price_changes(found, read_prices(typed["text"]), bought_only=typed["bought_only"])
        errors = changes.errors
    except UnreadableList as error:
        errors = error.errors
    if errors:
        return _ask(request, found, form.with_text(), errors=errors, status=422)
    row = actions.look_at_list(supplier=found, text=typed["text"], file_name=typed["name"], **_who(request))
    more = "?bought_only=yes" if typed["bought_only"] else ""
    return redirect(reverse("owner:price-list", args=[found.pk, row.pk]) + more)


@require_safe
def price_list(request: HttpRequest, supplier: int, price_list: int) -> HttpResponse:
    """What a list would change, or what it changed once taken."""
    row = _found(supplier, price_list)
    context = {"ways": ways_of_shop("owner:supplier-list"), "supplier": row.supplier, "list": row}
    if row.taken_at is not None:
        return render(request, "owner/shop/price_list.html", context | {"changes": row.changes})
    bought_only = "bought_only" in request.GET
    try:
        found: PriceChanges = price_changes(row.supplier, read_prices(row.text), bought_only=bought_only)
    except UnreadableList as error:
        return _ask(request, row.supplier, PriceListForm(initial={"text": row.text}), errors=error.errors)
    if found.errors:
        form = PriceListForm(initial={"text": row.text, "bought_only": bought_only})
        return _ask(request, row.supplier, form, errors=found.errors)
    context |= {"changes": found.changes, "found": found, "bought_only": bought_only}
    return render(request, "owner/shop/price_list.html", context)


@require_POST
def take(request: HttpRequest, supplier: int, price_list: int) -> HttpResponse:
    row = _found(supplier, price_list)
    bought_only = request.POST.get("bought_only") == "yes"
    here = reverse("owner:price-list", args=[supplier, price_list])
    try:
        rows = read_prices(row.text)
        seen = request.POST.get("seen", "")
        actions.take_list(price_list=row, rows=rows, bought_only=bought_only, seen=seen, **_who(request))
    except Gone:
        raise
    except (Refused, UnreadableList) as error:
        messages.error(request, str(error))
        return redirect(here + ("?bought_only=yes" if bought_only else ""))
    messages.success(request, "Taken. Orders already made keep their prices.")
    return redirect(here)


@require_safe
def prices_file(request: HttpRequest, supplier: int) -> HttpResponse:
    """What is bought there as the file to fill in."""
    found = get_object_or_404(Supplier, pk=supplier)
    rows = Material.objects.filter(supplier=found, withdrawn=False).order_by("order", "name")
    response = HttpResponse(prices_csv(rows), content_type="text/csv; charset=utf-8; header=present")
    response["Content-Disposition"] = f'attachment; filename="prices-{found.pk}.csv"'
    return response


def _ask(request, supplier: Supplier, form: PriceListForm, *, errors=(), status: int = 200) -> HttpResponse:
    context = {
        "ways": ways_of_shop("owner:supplier-list"),
        "supplier": supplier,
        "form": form,
        "columns": COLUMNS,
        "errors": errors[:MOST_SHOWN],
        "more_errors": max(0, len(errors) - MOST_SHOWN),
        "taken": taken_lists(supplier, request.shop),
    }
    return render(request, "owner/shop/prices.html", context, status=status)


def _found(supplier: int, pk: int) -> PriceList:
    rows = PriceList.objects.select_related("supplier", "taken_by")
    return get_object_or_404(rows, pk=pk, supplier=supplier)


def _who(request: HttpRequest) -> dict:
    return {"now": timezone.now(), "by": request.user}
