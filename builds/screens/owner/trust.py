"""How each tablet comes to trust the shop's own https: the steps, the fingerprint and the certificate."""

from __future__ import annotations

import io

import segno
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from workshop.lan.here import Lan, lan_here


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    return render(request, "owner/tablets/trust.html", {"lan": lan_here()})


@require_safe
def drawing(request: HttpRequest) -> HttpResponse:
    """The address of the plain page as a QR code."""
    out = io.BytesIO()
    segno.make(_lan().trust, error="m").save(
        out, kind="svg", scale=8, border=3, dark="#000000", light="#ffffff"
    )
    return HttpResponse(out.getvalue(), content_type="image/svg+xml")


@require_safe
def authority(request: HttpRequest) -> HttpResponse:
    response = HttpResponse(_lan().pem, content_type="application/x-x509-ca-cert")
    response["Content-Disposition"] = 'attachment; filename="benchweek-authority.crt"'
    return response


def _lan() -> Lan:
    found = lan_here()
    if found is None:
        raise Http404
    return found
