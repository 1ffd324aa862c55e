"""The shop: hours, people, places, standards, suppliers; deliveries and decisions."""

from django.urls import URLPattern, path

from . import calendar, shop

routes: list[URLPattern] = [
    path("shop/", shop.page, name="shop"),
    path("shop/parts/", shop.parts, name="shop-parts"),
    path("shop/opening/", shop.opening, name="shop-opening"),
    path("shop/days/", calendar.page, name="shop-days"),
    path("shop/days/close/", calendar.close, name="day-close"),
    path("shop/days/open/", calendar.open_again, name="day-open"),
    path("shop/days/work/", calendar.work_holiday, name="holiday-work"),
]
