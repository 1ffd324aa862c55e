"""Whom the shop buys from."""

from __future__ import annotations

from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from builds.actions import materials as actions
from builds.models import Shop, Supplier

from .editing import Desk, add, edit
from .editing import withdraw as withdraw_record
from .forms_materials import SupplierForm
from .shop_ways import ways_of_shop

DESK = Desk(
    model=Supplier,
    form=SupplierForm,
    back=("owner:supplier-list", "Suppliers"),
    way="owner:supplier-list",
    withdraw_name="owner:supplier-withdraw",
    withdraw_words="It is not offered for new materials and deliveries any more; what names it stays.",
)


@require_safe
def listing(request: HttpRequest) -> HttpResponse:
    offered = Count("materials", filter=Q(materials__withdrawn=False))
    rows = Supplier.objects.annotate(offered=offered).order_by("withdrawn", "name")
    currency = Shop.objects.values_list("currency", flat=True).first() or "GBP"
    context = {"ways": ways_of_shop("owner:supplier-list"), "suppliers": rows, "currency": currency}
    return render(request, "owner/shop/suppliers.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def supplier(request: HttpRequest, supplier: int) -> HttpResponse:
    def change(found, fields, seen, who):
        return actions.change_supplier(supplier=found, fields=fields, seen=seen, **who)

    return edit(request, DESK, supplier, change)


@require_http_methods(["GET", "HEAD", "POST"])
def new(request: HttpRequest) -> HttpResponse:
    def make(fields, who):
        return actions.add_supplier(**fields, **who)

    return add(request, DESK, "A new supplier", make)


@require_POST
def withdraw(request: HttpRequest, supplier: int) -> HttpResponse:
    def action(found, withdrawn, who):
        return actions.withdraw_supplier(supplier=found, withdrawn=withdrawn, **who)

    return withdraw_record(request, DESK, supplier, action)
