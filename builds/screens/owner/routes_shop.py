"""The shop: hours, people, places, standards, suppliers; deliveries and decisions."""

from django.urls import URLPattern

routes: list[URLPattern] = []
