"""Material: totals over builds, needs, orders."""

from django.urls import URLPattern

routes: list[URLPattern] = []
