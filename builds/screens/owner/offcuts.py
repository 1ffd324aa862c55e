"""Offcuts: what rests there are, where they lie, and what became of them."""

from __future__ import annotations

import uuid
from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from builds.actions import offcuts as actions
from builds.models import Offcut
from builds.queries.stock import offcut_line, offcut_lines, offcut_steps

from .forms_stock import CorrectForm, GoneForm, NewOffcutForm, UseForm, VersionedForm
from .keeping import kept
from .material_ways import ways_of_material


@require_http_methods(["GET", "HEAD", "POST"])
def listing(request: HttpRequest) -> HttpResponse:
    """Offcuts that are there; a POST keeps another."""
    form = NewOffcutForm(request.POST or None, initial={"token": uuid.uuid4()})

    def keep() -> None:
        actions.keep_offcut(**form.values(), **_who(request))

    if request.method == "POST" and kept(form, keep):
        messages.success(request, "Kept.")
        return redirect("owner:offcut-list")
    gone = "gone" in request.GET
    context = {
        "ways": ways_of_material("owner:offcut-list"),
        "lines": offcut_lines(gone=gone),
        "gone": gone,
        "least": actions.least_sizes(request.shop),
        "form": form,
    }
    return render(request, "owner/stock/offcuts.html", context, status=form.status)


@require_safe
def offcut(request: HttpRequest, offcut: int) -> HttpResponse:
    return _show(request, _found(offcut))


@require_POST
def correct(request: HttpRequest, offcut: int) -> HttpResponse:
    return _step(
        request, offcut, CorrectForm, actions.correct_offcut, "Kept. What stood there before is below."
    )


@require_POST
def use(request: HttpRequest, offcut: int) -> HttpResponse:
    return _step(request, offcut, UseForm, actions.use_offcut, "Used.")


@require_POST
def throw_out(request: HttpRequest, offcut: int) -> HttpResponse:
    return _step(request, offcut, GoneForm, actions.throw_out_offcut, "Thrown out.")


@require_POST
def bring_back(request: HttpRequest, offcut: int) -> HttpResponse:
    return _step(request, offcut, GoneForm, actions.bring_back_offcut, "It is there again.")


def _step(
    request: HttpRequest, pk: int, of: type[VersionedForm], action: Callable, words: str
) -> HttpResponse:
    found = _found(pk)
    form = of(request.POST)

    def keep() -> None:
        action(offcut=found, **form.values(), **_who(request))

    if not kept(form, keep):
        found = _found(pk)
        form.show_beside(found)
        return _show(request, found, form)
    messages.success(request, words)
    return redirect("owner:offcut", found.pk)


def _show(request: HttpRequest, found: Offcut, typed: VersionedForm | None = None) -> HttpResponse:
    context = {
        "ways": ways_of_material("owner:offcut-list"),
        "offcut": found,
        "line": offcut_line(found),
        "steps": offcut_steps(found),
        "typed": typed,
        "form": typed if isinstance(typed, CorrectForm) else CorrectForm.of(found),
        "use_form": UseForm(),
        "gone_form": GoneForm(),
    }
    return render(request, "owner/stock/offcut.html", context, status=typed.status if typed else 200)


def _found(pk: int) -> Offcut:
    return get_object_or_404(Offcut.objects.select_related("material", "cut_for", "used_for"), pk=pk)


def _who(request: HttpRequest) -> dict:
    return {"now": timezone.now(), "by": request.user}
