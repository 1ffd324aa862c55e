"""Tablets on the floor: pair and withdraw."""

from django.urls import URLPattern

routes: list[URLPattern] = []
