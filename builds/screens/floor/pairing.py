"""The tablet itself: pair it with the owner's code, then tap a name."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from builds.actions import tablets
from builds.actions.door import Refused
from builds.models import Person
from builds.queries.tablets import COOKIE

COOKIE_LASTS_SECONDS = 400 * 24 * 3600
"""The longest that browsers keep a cookie: a tablet stays paired until it is withdrawn."""


@require_http_methods(["GET", "HEAD", "POST"])
def pair(request: HttpRequest) -> HttpResponse:
    """Asks for the code; a scanned link brings it along, and one press pairs."""
    if request.method != "POST":
        return _ask(request, request.GET.get("code", ""))
    code = request.POST.get("code", "")
    try:
        _, token = tablets.claim_tablet(code=code, now=timezone.now())
    except Refused as error:
        return _ask(request, code, error)
    response = redirect("floor:names")
    keep_token(response, token)
    return response


@require_safe
def names(request: HttpRequest) -> HttpResponse:
    """Everybody who works here, to tap on; the tablet's cookie is made to last anew."""
    tablets.note_seen(tablet=request.tablet, now=timezone.now())
    people = list(Person.objects.working().only("pk", "name", "is_visitor"))
    context = {"people": people, "tablet": request.tablet}
    response = render(request, "floor/names/page.html", context)
    keep_token(response, request.COOKIES[COOKIE])
    return response


def keep_token(response: HttpResponse, token: str) -> None:
    response.set_cookie(
        COOKIE, token, max_age=COOKIE_LASTS_SECONDS, httponly=True, samesite="Lax", secure=settings.HTTPS
    )


def _ask(request: HttpRequest, code: str, error: Refused | None = None) -> HttpResponse:
    context = {"code": code[:20], "error": error, "tablet": getattr(request, "tablet", None)}
    return render(request, "floor/pair/page.html", context, status=error.status if error else 200)
