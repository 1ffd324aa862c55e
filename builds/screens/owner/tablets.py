"""The owner's tablets: add one and show its pair code, withdraw one at once."""

from __future__ import annotations

import io

import segno
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions import tablets
from builds.actions.door import Refused
from builds.models import Tablet
from builds.queries.tablets import tablet_lines

CODES = "pair_codes"
"""Codes that this owner made, kept in their session only, so that the page may be loaded again."""


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    return _show(request)


@require_POST
def add(request: HttpRequest) -> HttpResponse:
    name = request.POST.get("name", "")
    try:
        tablet, code = tablets.add_tablet(name=name, now=timezone.now(), by=request.user)
    except Refused as error:
        return _show(request, error=error, typed=name)
    return _to_code(request, tablet, code)


@require_POST
def pair_again(request: HttpRequest, tablet: int) -> HttpResponse:
    found = get_object_or_404(Tablet, pk=tablet)
    found, code = tablets.pair_again(tablet=found, now=timezone.now(), by=request.user)
    return _to_code(request, found, code)


@require_POST
def withdraw(request: HttpRequest, tablet: int) -> HttpResponse:
    found = get_object_or_404(Tablet, pk=tablet)
    tablets.withdraw_tablet(tablet=found, now=timezone.now(), by=request.user)
    messages.success(request, f"“{found.name}” is withdrawn. It shows nothing from now on.")
    return redirect("owner:tablet-list")


@require_safe
def code_page(request: HttpRequest, tablet: int) -> HttpResponse:
    """Shows the code until it is used or has run out; asked again every few seconds in between."""
    found = get_object_or_404(Tablet, pk=tablet)
    code = _good_code(request, found)
    address = request.build_absolute_uri(reverse("floor:pair"))
    state = "paired" if found.is_paired and not found.code_hash else "open" if code else "over"
    context = {
        "tablet": found,
        "code": f"{code[:4]} {code[4:]}" if code else "",
        "address": address,
        "state": state,
        "etag": f'"{state}-{code}"',
    }
    if not request.htmx and "If-None-Match" not in request.headers:
        return render(request, "owner/tablets/code.html", context)
    if request.headers.get("If-None-Match") == context["etag"]:
        return HttpResponse(status=304)
    response = render(request, "owner/tablets/_code.html", context)
    response["ETag"] = context["etag"]
    return response


@require_safe
def code_drawing(request: HttpRequest, tablet: int) -> HttpResponse:
    """The pair link as a QR code; black on white in both lights, as cameras want it."""
    code = _good_code(request, get_object_or_404(Tablet, pk=tablet))
    if not code:
        raise Http404
    link = request.build_absolute_uri(f"{reverse('floor:pair')}?code={code}")
    out = io.BytesIO()
    segno.make(link, error="m", micro=False).save(
        out, kind="svg", scale=6, border=4, dark="#000", light="#fff", xmldecl=False
    )
    response = HttpResponse(out.getvalue(), content_type="image/svg+xml")
    response["Cache-Control"] = "no-store"
    return response


def _good_code(request: HttpRequest, tablet: Tablet) -> str:
    code = request.session.get(CODES, {}).get(str(tablet.pk), "")
    return code if tablets.is_open_code(tablet, code, timezone.now()) else ""


def _to_code(request: HttpRequest, tablet: Tablet, code: str) -> HttpResponse:
    request.session[CODES] = {**request.session.get(CODES, {}), str(tablet.pk): code}
    return redirect("owner:tablet-code", tablet.pk)


def _show(request: HttpRequest, *, error: Refused | None = None, typed: str = "") -> HttpResponse:
    context = {"tablets": tablet_lines(), "error": error, "typed": typed}
    return render(request, "owner/tablets/page.html", context, status=error.status if error else 200)
