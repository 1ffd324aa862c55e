"""The standard library: what tasks a build gets from what is picked, and how they follow each other."""

from __future__ import annotations

from copy import copy
from dataclasses import replace

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from builds.actions import standard_kinds
from builds.actions import standards as actions
from builds.models import InstallationKind, StandardHoldPoint, StandardLink, StandardTask, UnitKind
from builds.queries.standards import standard_lines, standard_page

from .editing import Desk, add, edit, who
from .editing import withdraw as withdraw_record
from .forms_materials import SearchForm
from .forms_standards import (
    InstallationKindForm,
    NewLinkForm,
    NewTaskForm,
    NewUnitKindForm,
    StandardLinkForm,
    StandardTaskForm,
    UnitKindForm,
)
from .keeping import kept
from .shop_ways import ways_of_shop

A_PAGE = 60
WAY = "owner:standard-list"
KEPT_WORDS = "Kept. Builds that exist stay as they are."

TASKS = Desk(model=StandardTask, form=NewTaskForm, back=(WAY, "Library"), way=WAY)
UNITS = Desk(
    model=UnitKind,
    form=UnitKindForm,
    back=("owner:kind-list", "Units and installations"),
    way=WAY,
    lead="What a new build starts from. Builds that exist stay as they are.",
    withdraw_name="owner:unit-kind-withdraw",
    withdraw_words="It is not offered for new builds any more; builds that have it keep it.",
)
INSTALLATIONS = Desk(
    model=InstallationKind,
    form=InstallationKindForm,
    back=("owner:kind-list", "Units and installations"),
    way=WAY,
    lead="What a new build starts from. Builds that exist stay as they are.",
    withdraw_name="owner:installation-kind-withdraw",
    withdraw_words="It is not offered for new builds any more; builds that have it keep it.",
)


@require_safe
def listing(request: HttpRequest) -> HttpResponse:
    """The standard tasks, or those found; the same answer as page and as fragment."""
    search = SearchForm(request.GET)
    withdrawn = search.is_valid() and search.cleaned_data["withdrawn"]
    pages = Paginator(standard_lines(search.words, withdrawn=withdrawn), A_PAGE)
    context = {
        "ways": ways_of_shop(WAY),
        "page": pages.get_page(request.GET.get("page")),
        "words": search.words,
        "withdrawn": withdrawn,
    }
    template = "owner/shop/_standards.html" if request.htmx else "owner/shop/standards.html"
    return render(request, template, context)


@require_http_methods(["GET", "HEAD", "POST"])
def new(request: HttpRequest) -> HttpResponse:
    return add(request, TASKS, "A new standard task", lambda values, by: actions.add_task(**values, **by))


@require_http_methods(["GET", "HEAD", "POST"])
def task(request: HttpRequest, task: str) -> HttpResponse:
    found = get_object_or_404(StandardTask, key=task)
    form = _task_form(found, request.POST or None)

    def keep() -> None:
        actions.change_task(task=found, fields=form.values(), seen=form.seen_then, **who(request))

    if request.method == "POST" and kept(form, keep):
        messages.success(request, KEPT_WORDS)
        return redirect("owner:standard", found.key)
    return _show(request, found, form=form)


@require_POST
def withdraw(request: HttpRequest, task: int) -> HttpResponse:
    def action(found, withdrawn, by):
        return actions.withdraw_task(task=found, withdrawn=withdrawn, **by)

    return withdraw_record(request, TASKS, task, action)


@require_POST
def link_add(request: HttpRequest, task: str) -> HttpResponse:
    found = get_object_or_404(StandardTask, key=task)
    form = NewLinkForm(request.POST)

    def keep() -> None:
        other = get_object_or_404(StandardTask, key=form.cleaned_data["task"])
        before, after = (other, found) if form.cleaned_data["side"] == "after" else (found, other)
        fields = {"wait_hours": form.cleaned_data["wait_hours"]}
        actions.add_link(before=before, after=after, fields=fields, **who(request))

    if not kept(form, keep):
        return _show(request, found, link_form=form)
    messages.success(request, KEPT_WORDS)
    return redirect("owner:standard", found.key)


@require_http_methods(["GET", "HEAD", "POST"])
def link(request: HttpRequest, link: int) -> HttpResponse:
    found = get_object_or_404(StandardLink.objects.select_related("before", "after"), pk=link)
    form = StandardLinkForm(
        request.POST or None,
        instance=StandardLink.objects.get(pk=link),
        of=lambda: [StandardLink.objects.get(pk=link)],
    )

    def keep() -> None:
        actions.change_link(link=found, fields=form.values(), seen=form.seen_then, **who(request))

    if request.method == "POST" and kept(form, keep):
        messages.success(request, KEPT_WORDS)
        return redirect("owner:standard", found.after.key)
    context = {"ways": ways_of_shop(WAY), "form": form, "link": found}
    return render(request, "owner/shop/standard_link.html", context, status=form.status)


@require_POST
def link_remove(request: HttpRequest, link: int) -> HttpResponse:
    found = get_object_or_404(StandardLink.objects.select_related("after"), pk=link)
    actions.remove_link(link=found, **who(request))
    messages.success(request, "Removed. Builds that exist stay as they are.")
    return redirect("owner:standard", found.after.key)


@require_safe
def kinds(request: HttpRequest) -> HttpResponse:
    context = {
        "ways": ways_of_shop(WAY),
        "units": UnitKind.objects.order_by("withdrawn", "order", "name"),
        "installations": InstallationKind.objects.order_by("withdrawn", "order", "name"),
    }
    return render(request, "owner/shop/kinds.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def unit_kind_new(request: HttpRequest) -> HttpResponse:
    desk = replace(UNITS, form=NewUnitKindForm)
    return add(request, desk, "A new unit", lambda values, by: standard_kinds.add_unit_kind(**values, **by))


@require_http_methods(["GET", "HEAD", "POST"])
def installation_kind_new(request: HttpRequest) -> HttpResponse:
    def make(fields, by):
        return standard_kinds.add_installation_kind(fields=fields, **by)

    return add(request, INSTALLATIONS, "A new installation", make)


@require_http_methods(["GET", "HEAD", "POST"])
def unit_kind(request: HttpRequest, kind: int) -> HttpResponse:
    def change(found, fields, seen, by):
        return standard_kinds.change_unit_kind(kind=found, fields=fields, seen=seen, **by)

    return edit(request, UNITS, kind, change)


@require_http_methods(["GET", "HEAD", "POST"])
def installation_kind(request: HttpRequest, kind: int) -> HttpResponse:
    def change(found, fields, seen, by):
        return standard_kinds.change_installation_kind(kind=found, fields=fields, seen=seen, **by)

    return edit(request, INSTALLATIONS, kind, change)


@require_POST
def unit_kind_withdraw(request: HttpRequest, kind: int) -> HttpResponse:
    return withdraw_record(request, UNITS, kind, _withdraw_kind)


@require_POST
def installation_kind_withdraw(request: HttpRequest, kind: int) -> HttpResponse:
    return withdraw_record(request, INSTALLATIONS, kind, _withdraw_kind)


def _withdraw_kind(found, withdrawn, by):
    return standard_kinds.withdraw_kind(kind=found, withdrawn=withdrawn, **by)


def _task_form(found: StandardTask, data=None) -> StandardTaskForm:
    def now() -> list[StandardTask]:
        return [found if data is None else StandardTask.objects.get(pk=found.pk)]

    return StandardTaskForm(data, instance=copy(found), of=now)


def _show(request: HttpRequest, found: StandardTask, *, form=None, link_form=None) -> HttpResponse:
    form = form or _task_form(found)
    context = {
        "ways": ways_of_shop(WAY),
        "task": found,
        "page": standard_page(found),
        "check": StandardHoldPoint.objects.filter(key=found.hold_point).first() if found.hold_point else None,
        "form": form,
        "link_form": link_form or NewLinkForm(),
    }
    status = link_form.status if link_form else form.status
    return render(request, "owner/shop/standard.html", context, status=status)
