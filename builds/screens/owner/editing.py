"""The plain page that edits one record: a form, kept by one action, with its place to go back to."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from django.contrib import messages
from django.db import models
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from builds.actions.door import Refused

from .forms_materials import WithdrawForm
from .keeping import KeptRecordForm, kept
from .shop_ways import ways_of_shop

Who = dict[str, object]


@dataclass(frozen=True)
class Desk:
    """What the page of one kind of record is: its model and form, the list it belongs to, its words."""

    model: type[models.Model]
    form: type[KeptRecordForm]
    back: tuple[str, str]
    way: str
    lead: str = ""
    withdraw_name: str = ""
    withdraw_words: str = ""


def edit(
    request: HttpRequest, desk: Desk, pk: int, change: Callable[[models.Model, dict, str | None, Who], object]
):
    """Shows the form of record `pk`; a POST keeps it by `change(record, fields, seen, who)`."""
    found = get_object_or_404(desk.model, pk=pk)
    form = desk.form(
        request.POST or None,
        instance=get_object_or_404(desk.model, pk=pk),
        of=lambda: [desk.model.objects.get(pk=pk)],
    )
    if request.method == "POST" and kept(
        form, lambda: change(found, form.values(), form.seen_then, who(request))
    ):
        messages.success(request, f"Kept: {form.cleaned_data.get('name', found)}.")
        return redirect(desk.back[0])
    return _page(request, desk, form, title=str(found), record=found)


def add(request: HttpRequest, desk: Desk, title: str, make: Callable[[dict, Who], object]) -> HttpResponse:
    """Shows an empty form; a POST makes a record by `make(fields, who)`."""
    form = desk.form(request.POST or None)
    if request.method == "POST" and kept(form, lambda: make(form.values(), who(request))):
        messages.success(request, f"Added: {form.cleaned_data['name']}.")
        return redirect(desk.back[0])
    return _page(request, desk, form, title=title)


def withdraw(request: HttpRequest, desk: Desk, pk: int, action: Callable[[models.Model, bool, Who], object]):
    """Withdraws record `pk`, or brings it back."""
    found = get_object_or_404(desk.model, pk=pk)
    form = WithdrawForm(request.POST)
    if not form.is_valid():
        return redirect(desk.back[0])
    try:
        action(found, form.is_withdrawn, who(request))
    except Refused as error:
        messages.error(request, error.words)
        return redirect(desk.back[0])
    messages.success(request, f"{'Withdrawn' if form.is_withdrawn else 'Brought back'}: {found}.")
    return redirect(desk.back[0])


def who(request: HttpRequest) -> Who:
    return {"now": timezone.now(), "by": request.user}


def _page(request, desk: Desk, form: KeptRecordForm, *, title: str, record=None) -> HttpResponse:
    context = {
        "ways": ways_of_shop(desk.way),
        "form": form,
        "title": title,
        "lead": desk.lead,
        "back": desk.back,
        "record": record,
        "withdraw_name": desk.withdraw_name if record else "",
        "withdraw_words": desk.withdraw_words,
    }
    return render(request, "owner/shop/edit.html", context, status=form.status)
