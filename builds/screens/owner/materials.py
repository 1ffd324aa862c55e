"""What the shop buys: form, unit, pack, price, sizes, spread, waste."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from builds.actions import materials as actions
from builds.models import Material
from builds.queries.shop import material_lines

from .editing import Desk, add, edit
from .editing import withdraw as withdraw_record
from .forms_materials import MaterialForm, SearchForm
from .shop_ways import ways_of_shop

A_PAGE = 50

DESK = Desk(
    model=Material,
    form=MaterialForm,
    back=("owner:shop-materials", "Materials"),
    way="owner:shop-materials",
    withdraw_name="owner:shop-material-withdraw",
    withdraw_words="It is not offered for new needs any more; what builds need of it stays.",
)


@require_safe
def listing(request: HttpRequest) -> HttpResponse:
    """The materials, or those found; the same answer as page and as fragment."""
    search = SearchForm(request.GET)
    pages = Paginator(material_lines(search.words), A_PAGE)
    context = {
        "ways": ways_of_shop("owner:shop-materials"),
        "page": pages.get_page(request.GET.get("page")),
        "words": search.words,
    }
    template = "owner/shop/_materials.html" if request.htmx else "owner/shop/materials.html"
    return render(request, template, context)


@require_http_methods(["GET", "HEAD", "POST"])
def material(request: HttpRequest, material: int) -> HttpResponse:
    def change(found, fields, seen, who):
        return actions.change_material(material=found, fields=fields, seen=seen, **who)

    return edit(request, DESK, material, change)


@require_http_methods(["GET", "HEAD", "POST"])
def new(request: HttpRequest) -> HttpResponse:
    def make(fields, who):
        return actions.add_material(**fields, **who)

    return add(request, DESK, "A new material", make)


@require_POST
def withdraw(request: HttpRequest, material: int) -> HttpResponse:
    def action(found, withdrawn, who):
        return actions.withdraw_material(material=found, withdrawn=withdrawn, **who)

    return withdraw_record(request, DESK, material, action)
