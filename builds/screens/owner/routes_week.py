"""This week, the wall sheet, moving work, the crew sheet."""

from django.urls import URLPattern, path

from . import week

routes: list[URLPattern] = [
    path("", week.page, name="week"),
]
