"""Orders: the list, one order as a draft or sent, its papers; made of what is still to order."""

from __future__ import annotations

import uuid
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from builds.actions import orders as actions
from builds.actions.door import Refused
from builds.exchange.order_files import order_csv
from builds.models import Build, Material, Order, Supplier
from builds.queries.orders import OrderPage, materials_to_add, order_groups, order_page
from builds.reports.order import order_paper
from builds.screens.files import pdf_response

from .forms_orders import AddLineForm, DayForm, DraftForm, OrderForm, SendForm
from .keeping import KeptForm, kept
from .material_ways import ways_of_material


@require_safe
def listing(request: HttpRequest) -> HttpResponse:
    context = {
        "ways": ways_of_material("owner:order-list"),
        "groups": order_groups(timezone.now(), shop=request.shop),
        "suppliers": Supplier.objects.filter(withdrawn=False),
        "token": uuid.uuid4(),
    }
    return render(request, "owner/orders/page.html", context)


@require_POST
def make(request: HttpRequest) -> HttpResponse:
    """Makes a draft of what is ticked of one supplier's list, or of all a customer is to bring."""
    build, supplier = _number(request.POST.get("build")), _number(request.POST.get("supplier"))
    asked: dict = {"customer_of": get_object_or_404(Build, pk=build)} if build else {}
    if not build:
        asked = {"supplier": get_object_or_404(Supplier, pk=supplier)}
        if "all" not in request.POST:
            asked["materials"] = [_number(pk) for pk in request.POST.getlist("material")]
    try:
        order = actions.make_order(**asked, token=_token(request), **_who(request))
    except Refused as error:
        messages.error(request, error.words)
        return redirect("owner:material")
    return redirect("owner:order", order.pk)


@require_POST
def make_empty(request: HttpRequest) -> HttpResponse:
    """A draft with nothing in it, for what no van needs yet."""
    supplier = get_object_or_404(Supplier, pk=_number(request.POST.get("supplier")), withdrawn=False)
    order = actions.empty_order(supplier=supplier, token=_token(request), **_who(request))
    return redirect("owner:order", order.pk)


@require_http_methods(["GET", "HEAD", "POST"])
def order(request: HttpRequest, order: int) -> HttpResponse:
    """One order; a POST keeps the numbers of a draft."""
    found, page = found_order(request, order)
    if request.method != "POST":
        return _show(request, found, page)
    form = DraftForm(request.POST, order=page)

    def keep() -> None:
        actions.change_order(order=found, **form.values(), **_who(request))

    return _kept_or_shown(request, found, form, keep, "Kept.")


@require_POST
def line_add(request: HttpRequest, order: int) -> HttpResponse:
    found, page = found_order(request, order)
    form = AddLineForm(request.POST, order=page, choices=_choices(page))

    def keep() -> None:
        wanted = form.values()
        wanted["material"] = Material.objects.get(pk=wanted["material"])
        actions.add_line(order=found, **wanted, **_who(request))

    return _kept_or_shown(request, found, form, keep, "Added.")


@require_POST
def send(request: HttpRequest, order: int) -> HttpResponse:
    found, page = found_order(request, order)
    form = SendForm(request.POST, order=page)

    def keep() -> None:
        wanted = form.values()
        paper = order_paper(found, timezone.now(), shop=request.shop, sent_on=wanted["sent_on"])
        actions.send_order(order=found, paper=paper, **wanted, **_who(request))

    return _kept_or_shown(request, found, form, keep, "Sent. The plan waits for what it brings.")


@require_POST
def drop(request: HttpRequest, order: int) -> HttpResponse:
    found, page = found_order(request, order)
    form = OrderForm(request.POST, order=page)

    def keep() -> None:
        actions.drop_order(order=found, **form.values(), **_who(request))

    return _kept_or_shown(request, found, form, keep, "Called off. What had not come is to order again.")


@require_safe
def paper(request: HttpRequest, order: int) -> HttpResponse:
    """The PDF: as it was sent, or the draft as it is now."""
    found = get_object_or_404(Order.objects.select_related("supplier", "build"), pk=order)
    name = f"order-{found.number}.pdf"
    if found.frozen_pdf:
        return pdf_response(found.frozen_pdf, name)
    _, pdf = order_paper(found, timezone.now(), shop=request.shop)
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}"'
    return response


@require_safe
def file(request: HttpRequest, order: int) -> HttpResponse:
    _, page = found_order(request, order)
    response = HttpResponse(order_csv(page), content_type="text/csv; charset=utf-8; header=present")
    response["Content-Disposition"] = f'attachment; filename="order-{page.number}.csv"'
    return response


def found_order(request: HttpRequest, pk: int) -> tuple[Order, OrderPage]:
    found = get_object_or_404(Order.objects.select_related("supplier", "build"), pk=pk)
    return found, order_page(found, timezone.now(), shop=request.shop)


def _kept_or_shown(request, found: Order, form: KeptForm, keep, words: str) -> HttpResponse:
    if not kept(form, keep):
        return _show(request, *found_order(request, found.pk), typed=form)
    messages.success(request, words)
    return redirect("owner:order", found.pk)


def _show(
    request: HttpRequest, found: Order, page: OrderPage, *, typed: KeptForm | None = None
) -> HttpResponse:
    context = {"order": page, "ways": ways_of_material("owner:order-list"), "typed": typed}
    if page.is_draft:
        first = {"sent_on": timezone.localdate()}
        choices = _choices(page)
        context |= {
            "form": typed if isinstance(typed, DraftForm) else DraftForm(order=page),
            "send_form": typed if isinstance(typed, SendForm) else SendForm(order=page, initial=first),
            "add_form": AddLineForm(order=page, choices=choices) if choices else None,
        }
    elif page.next_on:
        context["day_form"] = DayForm(order=page, initial={"expected_on": page.next_on})
    return render(request, "owner/orders/order.html", context, status=typed.status if typed else 200)


def _choices(page: OrderPage) -> list[tuple[int, str]]:
    if page.supplier is None:
        return []
    return materials_to_add(page, Material.objects.filter(supplier=page.supplier, withdrawn=False))


def _number(text: str | None) -> int:
    return int(text) if text and text.isdecimal() and len(text) < 10 else 0


def _token(request: HttpRequest) -> UUID | None:
    try:
        return UUID(request.POST.get("token", ""))
    except ValueError:
        return None


def _who(request: HttpRequest) -> dict:
    return {"now": timezone.now(), "by": request.user}
