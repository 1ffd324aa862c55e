"""The customer's page: sent sheets and their photos, on a phone, read only."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from builds.actions.links import note_opened
from builds.models import ProgressSheet
from builds.queries.sheet_words import customer_page, open_link, sent_photo
from builds.screens.files import pdf_response, photo_response


def behind_link(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Finds the link's build; says nothing more than "not here" for links that are not or no longer good."""

    @wraps(view)
    def with_build(request: HttpRequest, token: str, **kwargs) -> HttpResponse:
        link = open_link(token)
        if link is None:
            raise Http404
        note_opened(link=link, now=timezone.now())
        response = view(request, link.build, token=token, **kwargs)
        response["Referrer-Policy"] = "no-referrer"
        response["Cache-Control"] = "no-store"
        response["X-Robots-Tag"] = "noindex, nofollow"
        return response

    return require_safe(with_build)


@behind_link
def page(request: HttpRequest, build, *, token: str) -> HttpResponse:
    return render(request, "customer/page.html", {"page": customer_page(build), "token": token})


@behind_link
def photo(request: HttpRequest, build, *, token: str, uuid, size: str) -> HttpResponse:
    found = sent_photo(build, uuid)
    if found is None:
        raise Http404
    return photo_response(found, small=size == "small")


@behind_link
def sheet_pdf(request: HttpRequest, build, *, token: str, sheet: int) -> HttpResponse:
    sent = get_object_or_404(ProgressSheet, pk=sheet, stage__build=build, sent_at__isnull=False)
    return pdf_response(sent.frozen_pdf, f"progress-sheet-{sent.stage.monday}.pdf")
