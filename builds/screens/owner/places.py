"""The places where work happens, and how much each holds."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods, require_safe

from builds.actions import places as actions
from builds.models import Place

from .editing import Desk, add, edit
from .forms_materials import PlaceForm
from .shop_ways import ways_of_shop

DESK = Desk(
    model=Place,
    form=PlaceForm,
    back=("owner:place-list", "Places"),
    way="owner:place-list",
    lead="What it holds binds the plan: two jobs never share a place that holds one.",
)


@require_safe
def listing(request: HttpRequest) -> HttpResponse:
    context = {"ways": ways_of_shop("owner:place-list"), "places": Place.objects.all()}
    return render(request, "owner/shop/places.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def place(request: HttpRequest, place: int) -> HttpResponse:
    def change(found, fields, seen, who):
        return actions.change_place(place=found, fields=fields, seen=seen, **who)

    return edit(request, DESK, place, change)


@require_http_methods(["GET", "HEAD", "POST"])
def new(request: HttpRequest) -> HttpResponse:
    def make(fields, who):
        return actions.add_place(name=fields.pop("name"), fields=fields, **who)

    return add(request, DESK, "A new place", make)
