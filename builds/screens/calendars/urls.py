"""Calendars for other programs, each behind its private link."""

from django.urls import path

from . import feed

app_name = "calendars"

urlpatterns = [path("<str:token>.ics", feed.feed, name="feed")]
