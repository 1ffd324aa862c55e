"""What is shown when something can't be: always what to do next, never a trace."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return render(request, "errors/400.html", status=400)


def not_yours(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return render(request, "errors/403.html", status=403)


def not_here(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return render(request, "errors/404.html", status=404)


def broke(request: HttpRequest) -> HttpResponse:
    return render(request, "errors/500.html", status=500)


def stale_form(request: HttpRequest, reason: str = "") -> HttpResponse:
    """The form's token is out of date: signed in anew in another tab, or open for weeks."""
    return render(request, "errors/stale_form.html", status=403)
