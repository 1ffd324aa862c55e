"""What the owners did, in words: who, when, to which van."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from builds.models import Journal

from .shop_ways import ways_of_shop

A_PAGE = 50


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    rows = Journal.objects.select_related("by", "build")
    context = {
        "ways": ways_of_shop("owner:shop-journal"),
        "page": Paginator(rows, A_PAGE).get_page(request.GET.get("page")),
    }
    return render(request, "owner/shop/journal.html", context)
