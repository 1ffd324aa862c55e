"""The papers of a build: Friday sheets, the customer's links, job sheets to print."""

from __future__ import annotations

from datetime import date

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions import links, sheets
from builds.actions.door import Refused, Stale
from builds.models import Build, CustomerLink, Person, Photo, ProgressSheet, Shop
from builds.queries.opening import monday_of, opening_times
from builds.queries.papers import build_papers, photo_choices
from builds.queries.sheet_words import sheet_words
from builds.reports.job_sheet import job_sheet_paper
from builds.reports.progress_sheet import progress_sheet_paper
from builds.screens.files import pdf_response, photo_response

from .build_frame import ways_of_build


@require_safe
def page(request: HttpRequest, build: int) -> HttpResponse:
    found = get_object_or_404(Build.objects.select_related("customer"), pk=build)
    return render(request, "owner/papers/page.html", _papers(found))


@require_POST
def draft(request: HttpRequest, build: int) -> HttpResponse:
    found = get_object_or_404(Build, pk=build)
    monday = _monday(request.POST.get("monday", ""))
    try:
        sheet = sheets.draft_progress_sheet(build=found, monday=monday, now=timezone.now(), by=request.user)
    except Refused as error:
        messages.error(request, error.words)
        return redirect("owner:build-papers", found.pk)
    return redirect("owner:sheet", found.pk, sheet.pk)


def sheet_page(request: HttpRequest, build: int, sheet: int) -> HttpResponse:
    """Shows the sheet; a POST keeps the owner's words."""
    found = _sheet(build, sheet)
    if request.method != "POST":
        return _show(request, found)
    try:
        sheets.edit_progress_sheet(
            sheet=found,
            version=_version(request),
            texts={name: request.POST.get(name, "") for name in sheets.TEXTS},
            date_words=request.POST.get("date_words", ""),
            photos=_chosen(request),
            now=timezone.now(),
            by=request.user,
        )
    except Refused as error:
        return _show(request, found, error=error, typed=request.POST)
    if "send" in request.POST:
        return _send(request, build, sheet)
    messages.success(request, "Kept. Nothing is sent until you send it.")
    return redirect("owner:sheet", build, sheet)


def _send(request: HttpRequest, build: int, sheet: int) -> HttpResponse:
    found = _sheet(build, sheet)
    now = timezone.now()
    try:
        paper = progress_sheet_paper(found, sent_at=now)
        sheets.send_progress_sheet(sheet=found, version=found.version, paper=paper, now=now, by=request.user)
    except Refused as error:
        return _show(request, found, error=error)
    messages.success(request, "Sent. The customer's page shows it now, as it is here.")
    return redirect("owner:sheet", build, sheet)


@require_POST
def redraft(request: HttpRequest, build: int, sheet: int) -> HttpResponse:
    found = _sheet(build, sheet)
    try:
        sheets.redraft_progress_sheet(
            sheet=found, version=_version(request), now=timezone.now(), by=request.user
        )
    except Refused as error:
        return _show(request, found, error=error)
    messages.success(request, "Drafted anew from this week's ticks, photos and notes.")
    return redirect("owner:sheet", build, sheet)


@require_safe
def sheet_pdf(request: HttpRequest, build: int, sheet: int) -> HttpResponse:
    found = _sheet(build, sheet)
    name = f"progress-sheet-{found.stage.monday}.pdf"
    if found.sent_at:
        return pdf_response(found.frozen_pdf, name)
    _, pdf = progress_sheet_paper(found)
    return _pdf(pdf, name)


@require_POST
def link_make(request: HttpRequest, build: int) -> HttpResponse:
    found = get_object_or_404(Build.objects.select_related("customer"), pk=build)
    _, token = links.make_customer_link(build=found, now=timezone.now(), by=request.user)
    address = request.build_absolute_uri(reverse("customer:page", args=[token]))
    return render(request, "owner/papers/page.html", _papers(found) | {"new_address": address})


def _papers(build: Build) -> dict:
    return {
        "papers": build_papers(build, timezone.now()),
        "build": build,
        "ways": ways_of_build(build, "owner:build-papers"),
    }


@require_POST
def link_withdraw(request: HttpRequest, build: int, link: int) -> HttpResponse:
    found = get_object_or_404(CustomerLink, pk=link, build_id=build)
    links.withdraw_customer_link(link=found, now=timezone.now(), by=request.user)
    messages.success(request, "Withdrawn. Whoever opens that link now finds nothing.")
    return redirect("owner:build-papers", build)


@require_safe
def job_sheet_pdf(request: HttpRequest, person: int, monday: str) -> HttpResponse:
    found = get_object_or_404(Person, pk=person)
    _, pdf = job_sheet_paper(found, _monday(monday), timezone.now())
    return _pdf(pdf, f"job-sheet-{person}-{monday}.pdf")


@require_safe
def photo(request: HttpRequest, uuid, size: str) -> HttpResponse:
    return photo_response(get_object_or_404(Photo, uuid=uuid), small=size == "small")


def _monday(word: str) -> date:
    try:
        return monday_of(date.fromisoformat(word))
    except (ValueError, OverflowError):
        raise Http404 from None


def _pdf(content: bytes, name: str) -> HttpResponse:
    disposition = {"Content-Disposition": f'inline; filename="{name}"'}
    return HttpResponse(content, content_type="application/pdf", headers=disposition)


def _sheet(build: int, sheet: int) -> ProgressSheet:
    rows = ProgressSheet.objects.select_related("stage__build__customer").prefetch_related("photos__photo")
    return get_object_or_404(rows, pk=sheet, stage__build_id=build)


def _show(
    request: HttpRequest, sheet: ProgressSheet, *, error: Refused | None = None, typed=None
) -> HttpResponse:
    shop = Shop.objects.get(pk=1)
    texts = {name: (typed or {}).get(name, getattr(sheet, name)) for name in sheets.TEXTS}
    context = {
        "sheet": sheet,
        "build": sheet.stage.build,
        "words": sheet_words(sheet, shop, opening_times(shop)),
        "texts": texts,
        "date_words": (typed or {}).get("date_words", sheet.date_words),
        "date_choices": ProgressSheet.DATE_WORDS,
        "choices": photo_choices(sheet),
        "error": error,
    }
    stale = isinstance(error, Stale)
    template = "owner/papers/sent.html" if sheet.sent_at else "owner/papers/sheet.html"
    return render(request, template, context, status=200 if error is None else 409 if stale else 422)


def _version(request: HttpRequest) -> int:
    word = request.POST.get("version", "")
    return int(word) if word.isdecimal() and len(word) < 10 else 0


def _chosen(request: HttpRequest) -> list[tuple[int, str]]:
    """Photos ticked, by the number given to each, with their captions."""
    picked = [int(pk) for pk in request.POST.getlist("photo") if pk.isdecimal() and len(pk) < 18]

    def place(pk: int) -> tuple[int, int]:
        word = request.POST.get(f"place-{pk}", "")
        return (int(word) if word.isdecimal() and len(word) < 4 else 999, picked.index(pk))

    return [(pk, request.POST.get(f"caption-{pk}", "")) for pk in sorted(picked, key=place)]
