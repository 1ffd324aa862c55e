"""Tablets on the floor: trust, pair and withdraw."""

from django.urls import path

from . import tablets, trust

routes = [
    path("tablets/", tablets.page, name="tablet-list"),
    path("tablets/trust/", trust.page, name="tablet-trust"),
    path("tablets/trust/address.svg", trust.drawing, name="trust-drawing"),
    path("tablets/trust/benchweek-authority.crt", trust.authority, name="trust-authority"),
    path("tablets/add/", tablets.add, name="tablet-add"),
    path("tablets/<int:tablet>/code/", tablets.code_page, name="tablet-code"),
    path("tablets/<int:tablet>/code.svg", tablets.code_drawing, name="tablet-code-drawing"),
    path("tablets/<int:tablet>/pair-again/", tablets.pair_again, name="tablet-pair-again"),
    path("tablets/<int:tablet>/withdraw/", tablets.withdraw, name="tablet-withdraw"),
]
