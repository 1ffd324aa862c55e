"""Builds: the list, a new one, one build's page, its work."""

from django.urls import URLPattern

routes: list[URLPattern] = []
