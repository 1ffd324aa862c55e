"""Signing in and out."""

from __future__ import annotations

from django.conf import settings
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse

from builds.demo.sign_ins import DEMO_SIGN_INS
from builds.models import User


class SignIn(LoginView):
    template_name = "sign_in.html"
    redirect_authenticated_user = True

    def get_context_data(self, **kwargs):
        demo = DEMO_SIGN_INS if settings.DEMO and not settings.TESTING else ()
        nobody_yet = not User.objects.exists()
        return super().get_context_data(demo_sign_ins=demo, nobody_yet=nobody_yet, **kwargs)


class SignOut(LogoutView):
    pass


def hello(request: HttpRequest) -> HttpResponse:
    """Answers that the server is there; the bare floor that page times are compared with."""
    return HttpResponse("Benchweek is here.", content_type="text/plain")
