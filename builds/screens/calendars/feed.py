"""One calendar, read only, for whoever has its link."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from builds.actions.calendars import note_fetched
from builds.exchange.calendars import as_icalendar
from builds.queries.calendars import fitter_entries, open_calendar_link, shop_entries


@require_safe
def feed(request: HttpRequest, token: str) -> HttpResponse:
    link = open_calendar_link(token)
    if link is None:
        raise Http404
    now = timezone.now()
    note_fetched(link=link, now=now)
    if link.person:
        name, entries = f"{link.person.name}, work", fitter_entries(link.person, now, request.shop)
    else:
        name, entries = f"{request.shop.name}, dates", shop_entries(now, request.shop)
    content = as_icalendar(name, entries, now=now, host=request.get_host().split(":")[0])
    response = HttpResponse(content, content_type="text/calendar; charset=utf-8")
    response["Content-Disposition"] = 'inline; filename="calendar.ics"'
    response["Referrer-Policy"] = "no-referrer"
    response["Cache-Control"] = "no-store"
    response["X-Robots-Tag"] = "noindex, nofollow"
    return response
