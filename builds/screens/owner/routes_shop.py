"""The shop: hours, people, places, standards, suppliers; deliveries and decisions."""

from django.urls import URLPattern, path

from . import calendar, decisions, deliveries, people, shop, trades

routes: list[URLPattern] = [
    path("shop/", shop.page, name="shop"),
    path("shop/parts/", shop.parts, name="shop-parts"),
    path("shop/opening/", shop.opening, name="shop-opening"),
    path("shop/days/", calendar.page, name="shop-days"),
    path("shop/days/close/", calendar.close, name="day-close"),
    path("shop/days/open/", calendar.open_again, name="day-open"),
    path("shop/days/work/", calendar.work_holiday, name="holiday-work"),
    path("shop/people/", people.listing, name="person-list"),
    path("shop/people/new/", people.new, name="person-new"),
    path("shop/people/<int:person>/", people.person, name="person"),
    path("shop/people/<int:person>/hours/", people.hours, name="person-hours"),
    path("shop/people/<int:person>/absence/", people.absence_add, name="absence-add"),
    path(
        "shop/people/<int:person>/absence/<int:absence>/remove/", people.absence_remove, name="absence-remove"
    ),
    path("shop/people/<int:person>/visit/", people.visit_add, name="visit-add"),
    path("shop/people/<int:person>/visit/<int:visit>/cancel/", people.visit_cancel, name="visit-cancel"),
    path("shop/people/<int:person>/pin/", people.pin, name="person-pin"),
    path("shop/people/<int:person>/leave/", people.leave, name="person-leave"),
    path("shop/people/<int:person>/come-back/", people.come_back, name="person-come-back"),
    path("shop/trades/", trades.listing, name="trade-list"),
    path("shop/trades/<int:trade>/", trades.trade, name="trade"),
    path("shop/deliveries/", deliveries.listing, name="delivery-list"),
    path("shop/deliveries/new/", deliveries.choose, name="delivery-choose"),
    path("builds/<int:build>/deliveries/new/", deliveries.new, name="delivery-new"),
    path("shop/deliveries/<int:delivery>/", deliveries.delivery, name="delivery"),
    path("shop/deliveries/<int:delivery>/date/", deliveries.change_date, name="delivery-date"),
    path("shop/deliveries/<int:delivery>/arrived/", deliveries.arrived, name="delivery-arrived"),
    path("shop/deliveries/<int:delivery>/shelf/", deliveries.shelf, name="delivery-shelf"),
    path("shop/deliveries/<int:delivery>/not-here/", deliveries.not_here, name="delivery-not-here"),
    path("shop/deliveries/<int:delivery>/cancel/", deliveries.cancel, name="delivery-cancel"),
    path("shop/decisions/", decisions.listing, name="decision-list"),
    path("shop/decisions/new/", decisions.choose, name="decision-choose"),
    path("builds/<int:build>/decisions/new/", decisions.new, name="decision-new"),
    path("shop/decisions/<int:decision>/", decisions.decision, name="decision"),
    path("shop/decisions/<int:decision>/decide/", decisions.decide, name="decision-decide"),
    path("shop/decisions/<int:decision>/again/", decisions.ask_again, name="decision-again"),
    path("shop/decisions/<int:decision>/drop/", decisions.drop, name="decision-drop"),
]
