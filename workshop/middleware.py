"""Who may see what, and how errors look: rules that hold for every request."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.cache import patch_vary_headers

from builds.actions.door import Refused
from builds.models import Shop

Answer = Callable[[HttpRequest], HttpResponse]

OPEN_TO_ALL = {"sign-in", "sign-out", "begin", "hello", "service-worker", "web-manifest"}
"""URL names that anybody may reach; "begin" asks for its token. Whatever is not listed needs a sign-in."""

CARRY_A_TOKEN = {"customer", "calendars"}
"""Namespaces whose views look up the token in their own address and know nothing else of the reader."""


class QuietHeaders:
    """Pages are private: they are not to be kept by caches between us and the reader.

    A part of a page is kept by no cache at all: a browser has one place for an address, and would bring the
    part back as the page.
    """

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if not request.path.startswith("/static/"):
            kept = "no-store" if "HX-Request" in request.headers else "no-cache"
            response.headers.setdefault("Cache-Control", f"private, {kept}")
            patch_vary_headers(response, ["HX-Request", "Cookie"])
        response.headers.setdefault("Permissions-Policy", "geolocation=(), microphone=(), camera=(self)")
        return response


class ShopTime:
    """Reads the shop once a request, as `request.shop`, and shows clock readings in its time zone."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.shop = Shop.objects.filter(pk=1).first() or Shop()
        with timezone.override(request.shop.zone):
            return self.get_response(request)


class Audience:
    """Sends everyone to their own part of the house.

    `owner:` pages need a signed-in user, `floor:` pages a paired tablet, `customer:` pages
    and `calendars:` carry their own token. Anything not listed as open needs a signed-in user.
    """

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request, view, args, kwargs) -> HttpResponse | None:
        match = request.resolver_match
        if match.view_name in OPEN_TO_ALL or match.namespace in CARRY_A_TOKEN:
            return None
        if match.namespace == "floor":
            return self._floor(request, match)
        if request.user.is_authenticated:
            return None
        if getattr(request, "htmx", False):
            response = HttpResponse(status=401)
            response["HX-Redirect"] = redirect_to_login(request.path).url
            return response
        return redirect_to_login(request.get_full_path())

    def _floor(self, request, match) -> HttpResponse | None:
        from builds.queries.tablets import tablet_of

        request.tablet = tablet_of(request)
        if request.tablet is not None or match.url_name in ("pair", "pair-code", "not-paired"):
            return None
        if request.method == "GET" and not getattr(request, "htmx", False):
            return redirect("floor:pair")
        return HttpResponse("This tablet is not paired. Nothing is lost: pair it again.", status=401)


class PlainErrors:
    """Turns a refusal that no screen caught into a page that says what to do, never a 500."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        if not isinstance(error, Refused):
            return None
        if getattr(request, "htmx", False):
            return render(request, "components/_refused.html", {"error": error}, status=error.status)
        return render(request, "errors/refused.html", {"error": error}, status=error.status)
