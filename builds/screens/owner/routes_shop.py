"""The shop: hours, people, places, standards, suppliers; deliveries and decisions."""

from django.urls import URLPattern, path

from . import shop

routes: list[URLPattern] = [
    path("shop/", shop.page, name="shop"),
]
