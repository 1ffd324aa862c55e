"""Deliveries over all vans: expected, late, here, found and on the kit shelf."""

from __future__ import annotations

from collections.abc import Callable
from copy import copy

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe
from django_htmx.http import trigger_client_event

from builds.actions import deliveries as actions
from builds.models import Build, Delivery
from builds.queries.deliveries import delivery_groups, delivery_line, vans_to_choose

from .forms_deliveries import DateForm, DeliveryForm, HereForm, VersionForm
from .keeping import KeptForm, kept
from .shop_ways import ways_of_shop


@require_safe
def listing(request: HttpRequest) -> HttpResponse:
    return render(request, "owner/deliveries/page.html", _list_context(_van(request.GET)))


def _list_context(van: int | None) -> dict:
    return {
        "ways": ways_of_shop("owner:delivery-list"),
        "groups": delivery_groups(timezone.localdate(), build=van),
        "vans": vans_to_choose(),
        "van": van,
    }


def _van(data) -> int | None:
    word = data.get("van", "")
    return int(word) if word.isdecimal() and len(word) < 10 else None


@require_safe
def choose(request: HttpRequest) -> HttpResponse:
    """From the chosen van to its form."""
    van = _van(request.GET)
    if van is None:
        return redirect("owner:delivery-list")
    return redirect("owner:delivery-new", van)


@require_http_methods(["GET", "HEAD", "POST"])
def new(request: HttpRequest, build: int) -> HttpResponse:
    found = get_object_or_404(Build, pk=build)
    form = DeliveryForm(request.POST or None, build=found)

    def keep() -> None:
        fields = {name: value for name, value in form.values().items() if name != "version"}
        actions.expect_delivery(build=found, **fields, **_who(request))

    if request.method == "POST" and kept(form, keep):
        messages.success(request, f"{form.cleaned_data['what']} is expected. The plan waits for it.")
        return redirect("owner:delivery-list")
    context = {"ways": ways_of_shop("owner:delivery-list"), "form": form, "build": found}
    return render(request, "owner/deliveries/new.html", context, status=form.status)


@require_http_methods(["GET", "HEAD", "POST"])
def delivery(request: HttpRequest, delivery: int) -> HttpResponse:
    """One delivery; a POST changes what comes and who waits for it."""
    found = _delivery(delivery)
    if request.method != "POST":
        return _show(request, found)
    form = _form(found, request.POST)

    def keep() -> None:
        fields = form.values()
        tasks, version = fields.pop("tasks"), fields.pop("version")
        actions.change_delivery(delivery=found, fields=fields, tasks=tasks, version=version, **_who(request))

    return _kept_or_shown(request, found, form, keep, "Kept. The plan is made anew.")


@require_POST
def change_date(request: HttpRequest, delivery: int) -> HttpResponse:
    found = _delivery(delivery)
    form = DateForm(request.POST)

    def keep() -> None:
        actions.change_date(delivery=found, **form.values(), **_who(request))

    return _kept_or_shown(request, found, form, keep, "Moved. The plan is made anew.")


@require_POST
def arrived(request: HttpRequest, delivery: int) -> HttpResponse:
    return _step(request, delivery, actions.arrived, "is here. Find it and put it on the shelf.")


@require_POST
def shelf(request: HttpRequest, delivery: int) -> HttpResponse:
    return _step(request, delivery, actions.put_on_shelf, "is on the kit shelf.")


@require_POST
def not_here(request: HttpRequest, delivery: int) -> HttpResponse:
    return _step(request, delivery, actions.not_here_after_all, "is awaited again.")


@require_POST
def cancel(request: HttpRequest, delivery: int) -> HttpResponse:
    found = _delivery(delivery)
    form = VersionForm(request.POST)

    def keep() -> None:
        actions.cancel_delivery(delivery=found, **form.values(), **_who(request))

    if not kept(form, keep):
        return _show(request, found, form)
    messages.success(request, f"{found.what} is taken off. Nothing waits for it any more.")
    return redirect("owner:delivery-list")


def _step(request: HttpRequest, pk: int, action: Callable, words: str) -> HttpResponse:
    """A step of one delivery: from the list the list comes back, from its page the page."""
    found = _delivery(pk)
    form = (VersionForm if action is actions.not_here_after_all else HereForm)(request.POST)

    def keep() -> None:
        action(delivery=found, **form.values(), **_who(request))

    said = f"{found.what} {words}"
    if request.htmx:
        return _list_after(request, form, keep, said)
    return _kept_or_shown(request, found, form, keep, said)


def _list_after(request: HttpRequest, form: KeptForm, keep, said: str) -> HttpResponse:
    refused = ""
    if not kept(form, keep):
        refused = said = " ".join(str(e) for errors in form.errors.values() for e in errors)
    context = _list_context(_van(request.POST)) | {"refused": refused}
    response = render(request, "owner/deliveries/_list.html", context, status=form.status)
    return trigger_client_event(response, "say", said)


def _kept_or_shown(request, found: Delivery, form: KeptForm, keep, words: str) -> HttpResponse:
    if not kept(form, keep):
        return _show(request, found, form)
    messages.success(request, words)
    back = reverse("owner:delivery-list") if request.POST.get("back") == "list" else None
    return redirect(back or reverse("owner:delivery", args=[found.pk]))


def _show(request: HttpRequest, found: Delivery, typed: KeptForm | None = None) -> HttpResponse:
    found = _delivery(found.pk) if typed else found
    is_own = isinstance(typed, DeliveryForm)
    context = {
        "ways": ways_of_shop("owner:delivery-list"),
        "delivery": found,
        "line": delivery_line(found, timezone.localdate()),
        "form": typed if is_own else _form(found),
        "date_form": typed if isinstance(typed, DateForm) else DateForm(),
        "here_form": typed if isinstance(typed, HereForm) else HereForm(),
        "typed": None if is_own else typed,
    }
    return render(request, "owner/deliveries/delivery.html", context, status=typed.status if typed else 200)


def _form(found: Delivery, data=None) -> DeliveryForm:
    chosen = tuple(found.tasks.values_list("pk", flat=True))
    return DeliveryForm(
        data,
        instance=copy(found),
        build=found.build,
        chosen=chosen,
    )


def _delivery(pk: int) -> Delivery:
    rows = Delivery.objects.select_related("build", "supplier", "material")
    return get_object_or_404(rows, pk=pk)


def _who(request: HttpRequest) -> dict:
    return {"now": timezone.now(), "by": request.user}
