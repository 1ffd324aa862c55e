"""Parts of a unit by hand: one added, changed, taken out or put back, or a whole list at once."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from builds.actions import part_lists, parts
from builds.actions.door import Gone, Refused
from builds.exchange.list_files import UnreadableList
from builds.exchange.part_files import COLUMNS, parts_csv, read_parts
from builds.models import Material, Part, Unit
from builds.queries.joinery import Boards
from builds.queries.part_lists import listed, split_known

from .build_frame import ways_of_build
from .forms_parts import PartForm, PartListForm
from .units import unit_or_404

MOST_SHOWN = 50


@require_http_methods(["GET", "HEAD", "POST"])
def new(request: HttpRequest, build: int, unit: int) -> HttpResponse:
    """One more part; the same form twice adds one."""
    found, boards = unit_or_404(build, unit), Boards.read()
    if request.method != "POST":
        return _form_page(request, found, PartForm.empty(boards))
    form = PartForm(request.POST, boards=boards)
    if form.is_valid():
        try:
            token = form.cleaned_data["token"]
            part = parts.add_part(unit=found, fields=form.values, token=token, **_who(request))
        except Refused as error:
            form.refuse(error)
        else:
            messages.success(request, f"Added: {part.name}.")
            return _to_parts(found)
    return _form_page(request, found, form, status=422)


@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: HttpRequest, build: int, unit: int, part: int) -> HttpResponse:
    """One part; what is changed here stays when the unit's parts are worked out anew."""
    found, boards = unit_or_404(build, unit), Boards.read()
    row = _part_or_404(found, part)
    if request.method != "POST":
        return _form_page(request, found, PartForm.of(row, boards), part=row)
    form = PartForm(request.POST, boards=boards, part=row)
    status = 422
    if form.is_valid():
        try:
            version = form.cleaned_data["version"]
            parts.change_part(part=row, fields=form.values, version=version, **_who(request))
        except Gone:
            raise
        except Refused as error:
            form.refuse(error)
            status = error.status
        else:
            messages.success(request, f"Kept: {form.cleaned_data['name']}.")
            return _to_parts(found)
    return _form_page(request, found, form, part=row, status=status)


@require_POST
def take_out(request: HttpRequest, build: int, unit: int, part: int) -> HttpResponse:
    found = unit_or_404(build, unit)
    row = _part_or_404(found, part)
    parts.remove_part(part=row, **_who(request))
    messages.success(request, f"Taken out: {row.name}.")
    return _to_parts(found)


@require_POST
def put_back(request: HttpRequest, build: int, unit: int, part: int) -> HttpResponse:
    """A part that was changed or taken out is again as the unit's sizes give it."""
    found = unit_or_404(build, unit)
    row = get_object_or_404(Part.ever, pk=part, unit=found)
    try:
        parts.take_back(part=row, **_who(request))
    except Gone:
        raise
    except Refused as error:
        messages.error(request, error.words)
    else:
        messages.success(request, f"As worked out again: {row.name}.")
    return _to_parts(found)


@require_http_methods(["GET", "HEAD", "POST"])
def from_list(request: HttpRequest, build: int, unit: int) -> HttpResponse:
    """Many parts at once: read and shown first, then added, all of them or none."""
    found = unit_or_404(build, unit)
    if request.method != "POST":
        return _list_page(request, found, PartListForm())
    form = PartListForm(request.POST, request.FILES)
    if not form.is_valid():
        return _list_page(request, found, form, status=422)
    materials = Material.objects.filter(form__in=("sheet", "length"))
    try:
        rows = read_parts(form.cleaned_data["text"], materials)
        made = part_lists.checked_list(found, rows)
        token = form.cleaned_data["token"]
        if "take" in request.POST and token:
            once_more = form.cleaned_data["once_more"]
            count = part_lists.add_parts(
                unit=found, rows=rows, token=token, once_more=once_more, **_who(request)
            )
            messages.success(
                request, f"Parts added: {count}." if count else "All of them were there already."
            )
            return _to_parts(found)
    except (UnreadableList, part_lists.ListRefused) as error:
        return _list_page(request, found, form.with_text(), errors=error.errors, status=422)
    except Refused as error:
        form.add_error(None, error.words)
        return _list_page(request, found, form, status=error.status)
    there = split_known(found, made)[1]
    return _list_page(request, found, form.with_text(), lines=listed(rows, made, there), there=len(there))


@require_safe
def parts_file(request: HttpRequest, build: int, unit: int) -> HttpResponse:
    """The parts as a file that `from_list` reads."""
    found = unit_or_404(build, unit)
    rows = Part.objects.filter(unit=found).select_related("material")
    response = HttpResponse(parts_csv(rows), content_type="text/csv; charset=utf-8; header=present")
    name = slugify(f"{found.build.name} {found.name}") or "unit"
    response["Content-Disposition"] = f'attachment; filename="parts-{name}.csv"'
    return response


def _form_page(
    request: HttpRequest, unit: Unit, form: PartForm, *, part: Part | None = None, status: int = 200
) -> HttpResponse:
    context = _frame(unit) | {"form": form, "part": part}
    return render(request, "owner/units/part.html", context, status=status)


def _list_page(
    request: HttpRequest, unit: Unit, form: PartListForm, *, errors=(), lines=(), there=0, status: int = 200
) -> HttpResponse:
    context = _frame(unit) | {
        "form": form,
        "columns": COLUMNS,
        "errors": errors[:MOST_SHOWN],
        "more_errors": max(0, len(errors) - MOST_SHOWN),
        "lines": lines,
        "there": there,
        "new": len(lines) - there,
    }
    return render(request, "owner/units/part_list.html", context, status=status)


def _frame(unit: Unit) -> dict:
    return {"build": unit.build, "unit": unit, "ways": ways_of_build(unit.build, "owner:build-fitted")}


def _part_or_404(unit: Unit, part: int) -> Part:
    return get_object_or_404(Part.objects.select_related("material", "unit"), pk=part, unit=unit)


def _to_parts(unit: Unit) -> HttpResponse:
    return redirect(reverse("owner:unit-page", args=[unit.build_id, unit.pk]) + "#parts-head")


def _who(request: HttpRequest) -> dict:
    return {"now": timezone.now(), "by": request.user}
