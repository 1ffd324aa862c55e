"""The owner's pages, by resource."""

from django.urls import path

from . import week

app_name = "owner"

urlpatterns = [
    # this week
    path("", week.page, name="week"),
]
