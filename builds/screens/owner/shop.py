"""The shop's settings."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from builds.models import Shop

from .shop_ways import ways_of_shop


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    shop = Shop.objects.filter(pk=1).first() or Shop()
    facts = [
        ("Name", shop.name),
        ("Time zone", shop.zone),
        ("How warm it is", shop.get_warmth_display()),
    ]
    return render(request, "owner/shop/page.html", {"ways": ways_of_shop("owner:shop"), "facts": facts})
