"""Stock: what the shop has of each material, what of it is spoken for, and how it came to be so."""

from __future__ import annotations

import uuid
from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions import stock as actions
from builds.models import Material
from builds.queries.stock import movement_lines, stock_line, stock_lines

from .forms_stock import BackForm, CountForm, TakeForm, TokenForm
from .keeping import kept
from .material_ways import ways_of_material


@require_safe
def listing(request: HttpRequest) -> HttpResponse:
    context = {
        "ways": ways_of_material("owner:stock"),
        "lines": stock_lines(request.shop),
        "materials": Material.objects.filter(withdrawn=False),
    }
    return render(request, "owner/stock/page.html", context)


@require_safe
def choose(request: HttpRequest) -> HttpResponse:
    """From the chosen material to its page."""
    pk = request.GET.get("material", "")
    if not pk.isdecimal() or len(pk) > 9:
        return redirect("owner:stock")
    return redirect("owner:stock-of", int(pk))


@require_safe
def of_material(request: HttpRequest, material: int) -> HttpResponse:
    return _show(request, get_object_or_404(Material.objects.select_related("supplier"), pk=material))


@require_POST
def count(request: HttpRequest, material: int) -> HttpResponse:
    return _book(request, material, CountForm, actions.count_stock, "Counted.")


@require_POST
def take(request: HttpRequest, material: int) -> HttpResponse:
    return _book(request, material, TakeForm, actions.take_from_stock, "Taken out.")


@require_POST
def put_back(request: HttpRequest, material: int) -> HttpResponse:
    return _book(request, material, BackForm, actions.put_back_in_stock, "Put into stock.")


def _book(request: HttpRequest, pk: int, of: type[TokenForm], action: Callable, words: str) -> HttpResponse:
    found = get_object_or_404(Material.objects.select_related("supplier"), pk=pk)
    form = of(request.POST)

    def keep() -> None:
        action(material=found, **form.values(), now=timezone.now(), by=request.user)

    if not kept(form, keep):
        return _show(request, found, form)
    messages.success(request, words)
    return redirect("owner:stock-of", found.pk)


def _show(request: HttpRequest, found: Material, typed: TokenForm | None = None) -> HttpResponse:
    forms = {
        name: typed if isinstance(typed, of) else of(initial={"token": uuid.uuid4()})
        for name, of in (("count_form", CountForm), ("take_form", TakeForm), ("back_form", BackForm))
    }
    builds = list(iter(forms["take_form"].fields["build"].choices))
    for name in ("take_form", "back_form"):
        forms[name].fields["build"].choices = builds
    movements = movement_lines(found)
    context = {
        "ways": ways_of_material("owner:stock"),
        "material": found,
        "line": stock_line(found, request.shop, movements),
        "movements": movements,
        "typed": typed,
        **forms,
    }
    return render(request, "owner/stock/material.html", context, status=typed.status if typed else 200)
